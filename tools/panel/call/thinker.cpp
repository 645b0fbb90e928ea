#include "tools/panel/call/thinker.h"

#include <exception>
#include <utility>

namespace drybus::tools {

Thinker::Thinker(model::Catalogue catalogue, std::function<void(CallOutcome)> done)
    : catalogue_(std::move(catalogue)), done_(std::move(done)), thread_([this] { go_on(); }) {}

Thinker::~Thinker() {
  {
    const std::lock_guard lock{mutex_};
    ended_ = true;
    stop_ = true;
  }
  woken_.notify_all();
  thread_.join();
}

void Thinker::think(CallTask task) {
  {
    const std::lock_guard lock{mutex_};
    waiting_ = std::move(task);
    stop_ = true;
  }
  woken_.notify_all();
}

std::optional<CallTask> Thinker::next_task() {
  std::unique_lock lock{mutex_};
  woken_.wait(lock, [this] { return ended_ || waiting_; });
  if (ended_) return std::nullopt;
  stop_ = false;
  return std::exchange(waiting_, std::nullopt);
}

void Thinker::go_on() {
  while (const auto task = next_task()) {
    CallOutcome outcome = outcome_of(*task);
    if (stop_) {
      guide_.reset();  // it keeps the best answer so far for the whole one
      continue;
    }
    done_(std::move(outcome));
  }
}

CallOutcome Thinker::outcome_of(const CallTask& task) {
  const model::Speaking speaking{task.words};
  if (!guide_ || guided_telling_ != task.telling || guided_words_ != task.words) {
    guided_telling_ = task.telling;
    guided_words_ = task.words;
    guide_.emplace([this](const model::Report& report) {
      model::DiagnosisBounds bounds;
      bounds.stop = &stop_;
      return model::diagnose(report, catalogue_, bounds);
    });
  }
  CallOutcome outcome{task.revision, {}, {}};
  try {
    outcome.state = guide_->state(task.told, task.answers);
  } catch (const std::exception& error) {
    outcome.failed = error.what();
    guide_.reset();
  }
  return outcome;
}

}  // namespace drybus::tools
