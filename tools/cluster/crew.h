// Threads that do pieces of work while somebody else talks.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <exception>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

namespace drybus::tools {

class Crew {
 public:
  struct Done {
    std::size_t piece = 0;
    std::string answer;
    std::exception_ptr error;  ///< in place of an answer
  };

  Crew(std::size_t threads, std::function<std::string(std::size_t)> work);
  /// Waits for what is being done; what waits is not begun.
  ~Crew();
  Crew(const Crew&) = delete;
  Crew& operator=(const Crew&) = delete;

  void give(std::size_t piece);
  /// What is done and was not fetched yet, in the order in which it was done.
  std::optional<Done> next();

 private:
  void go_on();

  std::function<std::string(std::size_t)> work_;
  std::mutex mutex_;
  std::condition_variable more_;
  std::deque<std::size_t> waiting_;
  std::deque<Done> done_;
  bool over_ = false;
  std::vector<std::jthread> threads_;
};

}  // namespace drybus::tools
