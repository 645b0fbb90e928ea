// Doing many independent things at once; what each does must not depend on the others or on their order.
#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "model/words/words.h"

namespace drybus::tools {

/// How many threads `asked` means: 0 is one for each core.
inline std::size_t thread_count(std::size_t asked) {
  return asked != 0 ? std::min<std::size_t>(asked, 256) : std::max(1u, std::thread::hardware_concurrency());
}

/// Calls work(0) ... work(count - 1) on `jobs` threads (0: one for each core), which speak as this one does. The first exception is passed on once
/// all threads have stopped.
template <class Work>
void in_parallel(std::size_t count, std::size_t jobs, Work&& work) {
  std::atomic<std::size_t> next{0};
  std::mutex mutex;
  std::exception_ptr first_error;
  const auto take = [&, words = model::words_spoken()] {
    const model::Speaking speaking{words};
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        work(i);
      } catch (...) {
        const std::lock_guard lock{mutex};
        if (!first_error) first_error = std::current_exception();
        next = count;
      }
    }
  };
  std::vector<std::jthread> threads;
  for (std::size_t t = 1; t < std::min(thread_count(jobs), count); ++t) threads.emplace_back(take);
  take();
  threads.clear();  // joins
  if (first_error) std::rethrow_exception(first_error);
}

}  // namespace drybus::tools
