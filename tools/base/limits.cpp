#include "tools/base/limits.h"

#include <sys/resource.h>
#include <sys/time.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstring>
#include <fstream>

#include "model/words/words.h"
#include "tools/base/staged_file.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::tr;

namespace {

/// The handler may read nothing but what was there before its signal could come.
std::string& last_words() {
  static std::string words;
  return words;
}

void end_now(int) {
  const std::string& words = last_words();
  // There is nobody left to tell that nobody reads it.
  [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, words.data(), words.size());
  remove_unfinished();
  _exit(exit_unusable);
}

/// Bytes of address space that the process has; 0 where the system does not tell.
std::uint64_t taken_already() {
  std::uint64_t pages = 0;
  std::ifstream{"/proc/self/statm"} >> pages;
  return pages * static_cast<std::uint64_t>(::sysconf(_SC_PAGESIZE));
}

}  // namespace

void limit_memory(std::uint64_t bytes) {
  if (const std::uint64_t has = taken_already(); bytes < has) {
    throw Unusable{
        tr("--most-memory: the program has taken {} MB before it begins; expected more", (has >> 20) + 1)};
  }
  const rlimit limit{bytes, bytes};
  if (::setrlimit(RLIMIT_AS, &limit) != 0)
    throw Unusable{tr("--most-memory: the system allows no such limit: {}", std::strerror(errno))};
}

void limit_time(std::chrono::milliseconds most, const std::string& words) {
  last_words() = words;
  std::signal(SIGALRM, end_now);
  itimerval timer{};
  timer.it_value.tv_sec = most.count() / 1000;
  timer.it_value.tv_usec = (most.count() % 1000) * 1000;
  ::setitimer(ITIMER_REAL, &timer, nullptr);
}

}  // namespace drybus::tools
