// A lesson at the bench for one pupil, alone with it: the panel and its questions. Knows no socket and no browser.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "tools/panel/panel.h"
#include "tools/script/lesson.h"

namespace drybus::tools {

class ClassRoom {
 public:
  explicit ClassRoom(LoadedLesson loaded);

  /// A message of the page to the bench, as tools/panel/PROTOCOL.md has it.
  void receive(std::string_view text, RealTime real) { panel_.receive(pupil_id_, text, real); }
  void at_real(RealTime real) { panel_.at_real(real); }
  /// What the bench has to say since the last call: a JSON list of messages.
  [[nodiscard]] std::string take_messages();

  /// The digest of a whole run of the story, as `drybus run` tells it.
  [[nodiscard]] std::string digest() const;

 private:
  std::shared_ptr<const LoadedLesson> loaded_;
  Panel panel_;
  ViewerId pupil_id_;
};

}  // namespace drybus::tools
