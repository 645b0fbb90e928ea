#include "tools/seat/children.h"

#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <stdexcept>

#include "tools/base/file_claims.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/seat/black_box.h"

namespace drybus::tools {

namespace {

int wait_for(pid_t child) {
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return status;
}

std::string death_text(int status) {
  if (!WIFSIGNALED(status))
    return fmt::format("the process ended by itself (exit code {})", WEXITSTATUS(status));
  const char* name = sigabbrev_np(WTERMSIG(status));
  return fmt::format("the process ended with SIG{}", name == nullptr ? "?" : name);
}

std::string with_last_noted(const std::string& how, const BlackBox& box) {
  const std::string last = box.last_noted();
  return last.empty() ? how : how + ", " + last;
}

pid_t forked() {
  std::fflush(nullptr);
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error{"another process cannot be started"};
  if (child == 0) prctl(PR_SET_PDEATHSIG, SIGTERM);  // whoever ends the parent means the child
  return child;
}

void write_all(int file, const std::string& text) {
  for (std::size_t done = 0; done < text.size();) {
    const ssize_t written = write(file, text.data() + done, text.size() - done);
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return;
    done += static_cast<std::size_t>(written);
  }
}

/// One child under way.
struct Child {
  std::size_t index = 0;
  pid_t process = 0;
  int pipe = -1;
  BlackBox box;
  std::string said;
};

/// A text that came whole ends with this; one that did not is worth nothing.
constexpr char whole = '\n';

Child start(std::size_t index, const std::function<std::string(std::size_t)>& work) {
  std::array<int, 2> ends{};
  if (pipe(ends.data()) != 0) throw std::runtime_error{"no pipe to another process"};
  BlackBox box;
  const pid_t process = forked();
  if (process != 0) {
    close(ends[1]);
    return {index, process, ends[0], std::move(box), {}};
  }
  box.use();
  close(ends[0]);
  try {
    write_all(ends[1], work(index) + whole);
  } catch (const std::exception& error) {
    print_err(fmt::format("drybus: {}\n", reason_of(error)));
  }
  std::fflush(nullptr);
  _exit(exit_fine);
}

/// Takes in what there is; false when the child has closed its end.
bool take_in(Child& child) {
  std::array<char, 65536> buffer{};
  const ssize_t count = read(child.pipe, buffer.data(), buffer.size());
  if (count < 0) return errno == EINTR || errno == EAGAIN;
  child.said.append(buffer.data(), static_cast<std::size_t>(count));
  return count > 0;
}

}  // namespace

int in_child(const std::function<int()>& work) {
  const BlackBox box;
  const pid_t child = forked();
  if (child == 0) {
    box.use();
    const int code = work();
    std::fflush(nullptr);
    _exit(code);
  }
  // Ctrl-C is for the child: what it makes of it is what this process makes of it.
  struct sigaction ignore {};
  ignore.sa_handler = SIG_IGN;
  struct sigaction before {};
  sigaction(SIGINT, &ignore, &before);
  const int status = wait_for(child);
  sigaction(SIGINT, &before, nullptr);
  if (WIFEXITED(status)) return WEXITSTATUS(status);
  if (WTERMSIG(status) == SIGINT) raise(SIGINT);
  print_err(fmt::format("drybus: {}: the firmware has done something that could not be stopped in time\n",
                        with_last_noted(death_text(status), box)));
  return exit_failed;
}

std::vector<std::string> in_children(
    std::size_t count, std::size_t jobs, const std::function<std::string(std::size_t)>& work,
    const std::function<std::string(std::size_t, const std::string&)>& lost) {
  std::vector<std::string> results(count);
  std::vector<Child> under_way;
  const std::size_t most = thread_count(jobs);
  std::size_t next = 0;
  while (next < count || !under_way.empty()) {
    while (next < count && under_way.size() < most) under_way.push_back(start(next++, work));
    std::vector<pollfd> files;
    files.reserve(under_way.size());
    for (const Child& child : under_way) files.push_back({child.pipe, POLLIN, 0});
    if (poll(files.data(), files.size(), -1) < 0 && errno != EINTR)
      throw std::runtime_error{"waiting for processes failed"};
    for (std::size_t i = files.size(); i-- > 0;) {
      if (files[i].revents == 0 || take_in(under_way[i])) continue;
      Child child = std::move(under_way[i]);
      under_way.erase(under_way.begin() + static_cast<std::ptrdiff_t>(i));
      close(child.pipe);
      const int status = wait_for(child.process);
      const bool came_whole = WIFEXITED(status) && !child.said.empty() && child.said.back() == whole;
      if (came_whole) child.said.pop_back();
      results[child.index] =
          came_whole ? child.said : lost(child.index, with_last_noted(death_text(status), child.box));
    }
  }
  check_outputs({});  // what a child read, this process does not write over
  return results;
}

}  // namespace drybus::tools
