// What firmware was doing when it took the whole process with it: a page that outlives the process that
// writes to it.
#pragma once

#include <string>

#include "model/firmware/logic.h"

namespace drybus::tools {

/// Notes what is about to be called. Cheap: it is done for every call.
void note_call(const model::FirmwareCall& call);

/// Notes what is about to be done, as the end of a sentence: "while a.so is being loaded".
void note_work(const std::string& what);

/// A page shared with the children that are forked while it exists.
class BlackBox {
 public:
  BlackBox();
  ~BlackBox();
  BlackBox(BlackBox&& other) noexcept;
  BlackBox& operator=(BlackBox&& other) noexcept;
  BlackBox(const BlackBox&) = delete;
  BlackBox& operator=(const BlackBox&) = delete;

  /// Has this process note here from now on. For a child that has just been forked.
  void use() const;

  /// What was noted last: "in its handler for timer, for device number 3 at 3:42.1". Empty when nothing was.
  [[nodiscard]] std::string last_noted() const;

 private:
  void* page_;
};

}  // namespace drybus::tools
