// What firmware is doing, on a page that outlives the process that writes to it: so that whoever watches that process
// can tell what took it along, that it hangs, or that it ended without having come to its end.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/firmware/logic.h"

namespace drybus::tools {

/// Names a library for the calls of its handlers. The same path has the same number.
std::uint32_t note_library(const std::string& path);

/// Names the devices that calls are made for from now on.
void note_devices(const model::Site& site);

/// Notes what is about to be called, by this thread. Cheap: it is done for every call.
void note_call(const model::FirmwareCall& call, std::uint32_t library);

/// Notes what is about to be done, as the end of a sentence: "while a.so is being loaded".
void note_work(const std::string& what);

/// Adds to what note_work said last. For signal handlers, too.
void note_more(const char* what);

/// Notes that what was begun last, by this thread, is over.
void note_over();

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

  /// Says that the work came to its end, with this exit code. By the child, as the last thing that it does.
  void mark_ended(int exit_code) const;
  /// What was said so; nothing when the process ended without it.
  [[nodiscard]] std::optional<int> ended() const;

  /// What is under way, or was when the process died: "in its handler for timer, for M3 at 3:42.1 (a.so)". Else what
  /// was under way last. Empty when nothing ever was.
  [[nodiscard]] std::string last_noted() const;

  /// A number that is another one whenever something was begun or is over; and how many things are under way.
  struct Pulse {
    std::uint64_t beats = 0;
    std::size_t under_way = 0;
    bool loads = false;  ///< a library is being loaded, or asked what it is
  };
  [[nodiscard]] Pulse pulse() const;

 private:
  void* page_;
  std::uint64_t mark_;  ///< drawn anew for each: nobody writes it by accident
};

}  // namespace drybus::tools
