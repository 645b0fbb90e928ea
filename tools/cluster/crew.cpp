#include "tools/cluster/crew.h"

#include <algorithm>
#include <utility>

namespace drybus::tools {

Crew::Crew(std::size_t threads, std::function<std::string(std::size_t)> work) : work_(std::move(work)) {
  for (std::size_t i = 0; i < std::max<std::size_t>(1, threads); ++i)
    threads_.emplace_back([this] { go_on(); });
}

Crew::~Crew() {
  {
    const std::lock_guard lock{mutex_};
    over_ = true;
  }
  more_.notify_all();
  threads_.clear();  // joins
}

void Crew::give(std::size_t piece) {
  {
    const std::lock_guard lock{mutex_};
    waiting_.push_back(piece);
  }
  more_.notify_one();
}

std::optional<Crew::Done> Crew::next() {
  const std::lock_guard lock{mutex_};
  if (done_.empty()) return std::nullopt;
  Done first = std::move(done_.front());
  done_.pop_front();
  return first;
}

void Crew::go_on() {
  while (true) {
    Done done;
    {
      std::unique_lock lock{mutex_};
      more_.wait(lock, [this] { return over_ || !waiting_.empty(); });
      if (over_) return;
      done.piece = waiting_.front();
      waiting_.pop_front();
    }
    try {
      done.answer = work_(done.piece);
    } catch (...) {
      done.error = std::current_exception();
    }
    const std::lock_guard lock{mutex_};
    done_.push_back(std::move(done));
  }
}

}  // namespace drybus::tools
