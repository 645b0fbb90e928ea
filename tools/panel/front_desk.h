// What stands behind the panel's port: holds the lines of those who come, and answers what they say. The sockets know
// nothing else of it.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "tools/panel/page_files.h"
#include "tools/panel/panel.h"

namespace drybus::tools {

/// One viewer's line, as the front desk sees it.
class ViewerLine {
 public:
  virtual ~ViewerLine() = default;
  virtual void send(const Letter& letter) = 0;
  /// `real` is now: a line whose reader has stood still for too long closes itself.
  virtual void look_after(RealTime real) = 0;
  /// The server ends.
  virtual void close() = 0;
};

class FrontDesk {
 public:
  virtual ~FrontDesk() = default;

  [[nodiscard]] virtual RealTime now() const = 0;
  [[nodiscard]] virtual bool has_room_for(const Newcomer& who) const = 0;
  /// The file of its page at a path; null: there is none. `accepted` is what the browser would rather read (Accept-Language).
  [[nodiscard]] virtual const PageFile* page_file(std::string_view path, std::string_view accepted) = 0;

  /// From now on the line gets letters: its greeting first.
  virtual ViewerId welcome(std::shared_ptr<ViewerLine> line, const Newcomer& who) = 0;
  /// The line is no more; another one may have taken the viewer's seat.
  virtual void goodbye(ViewerId id, const ViewerLine* line) = 0;
  /// Whether the text was understood.
  virtual bool receive(ViewerId id, std::string_view text) = 0;
  [[nodiscard]] virtual std::shared_ptr<const std::string> whole_state(ViewerId id) const = 0;

  /// Nobody is looked after any more, and all lines are told.
  virtual void close() = 0;
};

}  // namespace drybus::tools
