// Thinks about a call beside whoever serves it: one thread, which works on the newest only. What is overtaken by news is
// told to stop, and its outcome is nobody's.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "model/call/guide.h"
#include "model/diagnosis/catalogue.h"
#include "model/words/words.h"

namespace drybus::tools {

/// A call as it was told and answered at some moment.
struct CallTask {
  std::uint64_t revision = 0;  ///< grows with every change of the call
  std::uint64_t telling = 0;   ///< differs when what was told does, apart from the answers
  model::Report told;          ///< without the answers
  std::vector<model::CallAnswer> answers;
  const model::Words* words = nullptr;  ///< in which its outcome is told
};

struct CallOutcome {
  std::uint64_t revision = 0;
  std::optional<model::CallState> state;
  std::string failed;  ///< why there is none
};

class Thinker {
 public:
  /// `done` is called from another thread.
  Thinker(model::Catalogue catalogue, std::function<void(CallOutcome)> done);
  ~Thinker();
  Thinker(const Thinker&) = delete;
  Thinker& operator=(const Thinker&) = delete;

  /// Takes the place of whatever it was thinking about.
  void think(CallTask task);

 private:
  void go_on();
  [[nodiscard]] std::optional<CallTask> next_task();
  [[nodiscard]] CallOutcome outcome_of(const CallTask& task);

  model::Catalogue catalogue_;
  std::function<void(CallOutcome)> done_;

  // Of the thread alone.
  std::optional<model::Guide> guide_;
  std::uint64_t guided_telling_ = 0;
  const model::Words* guided_words_ = nullptr;

  std::mutex mutex_;
  std::condition_variable woken_;
  std::optional<CallTask> waiting_;
  bool ended_ = false;
  std::atomic<bool> stop_ = false;
  std::thread thread_;
};

}  // namespace drybus::tools
