#include "tools/seat/children.h"

#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <memory>
#include <stdexcept>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/seat/black_box.h"
#include "tools/seat/guard.h"
#include "tools/seat/instruments.h"

namespace drybus::tools {

using model::plural;
using model::tr;

namespace {

using Seconds = std::chrono::duration<double>;

/// How often children are looked after.
constexpr std::chrono::milliseconds tick{250};
/// A library is loaded, and says what it is, within this time.
constexpr Seconds loading_at_most{10};
/// The guard brings back a handler by itself, unless the firmware has put it out of action.
constexpr Seconds handler_at_most{1.5 * handler_seconds_at_most};
/// So long may a process stand still while this one goes on. (Ctrl-Z stops both.)
constexpr Seconds stopped_at_most{3};

/// A process that is looked after: ended when it hangs or stands still.
class Watched {
 public:
  Watched(pid_t process, const BlackBox& box) : process_(process), box_(box) {}

  /// Looks whether it is over; ends it when it is time to. To be called every tick, and whenever something has changed.
  bool is_over() {
    for (;;) {
      int status = 0;
      const pid_t changed = waitpid(process_, &status, WNOHANG | WUNTRACED | WCONTINUED);
      if (changed < 0 && errno == EINTR) continue;
      if (changed <= 0) break;
      stopped_ = WIFSTOPPED(status);
      if (WIFSTOPPED(status) || WIFCONTINUED(status)) continue;
      status_ = status;
      return true;
    }
    take_time();
    return false;
  }

  /// Waits until it is over. REQUIRES: SIGCHLD is blocked.
  void wait() {
    while (!is_over()) {
      sigset_t child;
      sigemptyset(&child);
      sigaddset(&child, SIGCHLD);
      const timespec at_most{0, std::chrono::nanoseconds{tick}.count()};
      sigtimedwait(&child, nullptr, &at_most);
    }
  }

  [[nodiscard]] int status() const { return status_; }
  [[nodiscard]] pid_t id() const { return process_; }

  /// Whether it came to its own end and said so.
  [[nodiscard]] bool came_to_its_end() const {
    return WIFEXITED(status_) && box_.ended() == WEXITSTATUS(status_);
  }

  /// "the process ended with SIGKILL, in its handler for timer, for M3 at 0:41.3"
  [[nodiscard]] std::string how() const {
    const std::string last = box_.last_noted();
    return last.empty() ? death_text() : death_text() + ", " + last;
  }

 private:
  [[nodiscard]] std::string death_text() const {
    if (!ended_for_.empty()) return ended_for_;
    if (WIFEXITED(status_)) return tr("the process ended by itself (exit code {})", WEXITSTATUS(status_));
    const char* name = sigabbrev_np(WTERMSIG(status_));
    return tr("the process ended with SIG{}", name == nullptr ? "?" : name);
  }

  void take_time() {
    const auto now = std::chrono::steady_clock::now();
    // While this process was stopped itself, no time counts.
    const Seconds gone = std::min<Seconds>(now - looked_, 2 * tick);
    looked_ = now;
    const BlackBox::Pulse pulse = box_.pulse();
    const bool moves = pulse.under_way == 0 || pulse.beats != pulse_.beats;
    pulse_ = pulse;
    quiet_ = moves ? Seconds{0} : quiet_ + gone;
    still_ = stopped_ ? still_ + gone : Seconds{0};
    const Seconds most = pulse.loads ? loading_at_most : handler_at_most;
    if ((still_ > stopped_at_most || quiet_ > most) && is_traced()) quiet_ = still_ = Seconds{0};
    if (still_ > stopped_at_most) {
      end(tr("the process stopped itself, and was ended"));
    } else if (quiet_ > most) {
      end(tr("the process hung for {:.0f} s, and was ended", most.count()));
    }
  }

  /// By a debugger, at which somebody sits.
  [[nodiscard]] bool is_traced() const {
    std::ifstream status{fmt::format("/proc/{}/status", process_)};
    for (std::string word; status >> word;) {
      if (word == "TracerPid:") return status >> word && word != "0";
    }
    return false;
  }

  void end(std::string why) {
    if (!ended_for_.empty()) return;
    ended_for_ = std::move(why);
    kill(process_, SIGKILL);
  }

  pid_t process_;
  const BlackBox& box_;
  int status_ = 0;
  bool stopped_ = false;
  BlackBox::Pulse pulse_;
  Seconds quiet_{0};
  Seconds still_{0};
  std::chrono::steady_clock::time_point looked_ = std::chrono::steady_clock::now();
  std::string ended_for_;  ///< empty: it ended by itself
};

/// SIGCHLD waits to be asked for.
class ChildSignalBlocked {
 public:
  ChildSignalBlocked() {
    std::signal(SIGCHLD, SIG_DFL);  // where it is ignored, nobody is told how a child ended
    sigset_t child;
    sigemptyset(&child);
    sigaddset(&child, SIGCHLD);
    sigprocmask(SIG_BLOCK, &child, &before_);
  }
  ~ChildSignalBlocked() { undo(); }
  ChildSignalBlocked(const ChildSignalBlocked&) = delete;
  ChildSignalBlocked& operator=(const ChildSignalBlocked&) = delete;
  /// For a child.
  void undo() const { sigprocmask(SIG_SETMASK, &before_, nullptr); }

 private:
  sigset_t before_{};
};

pid_t forked() {
  std::fflush(nullptr);
  const pid_t parent = getpid();
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error{tr("another process cannot be started")};
  if (child == 0) {
    // Whoever ends the parent means the child, whatever the firmware makes of signals.
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    if (getppid() != parent) _exit(exit_failed);
  }
  return child;
}

/// Processes that a child started and left behind come to this one, and are ended with it.
class OrphansEnded {
 public:
  OrphansEnded() { prctl(PR_SET_CHILD_SUBREAPER, 1); }
  ~OrphansEnded() { end(); }
  OrphansEnded(const OrphansEnded&) = delete;
  OrphansEnded& operator=(const OrphansEnded&) = delete;

  /// How many there were. REQUIRES: this process waits for no other child.
  std::size_t end() {
    std::size_t ended = 0;
    // Each that is ended may leave more behind.
    for (int round = 0; round < most_rounds; ++round) {
      const std::size_t before = ended;
      std::ifstream children{"/proc/thread-self/children"};
      for (pid_t child = 0; children >> child; ++ended) {
        kill(child, SIGKILL);
        waitpid(child, nullptr, 0);
      }
      if (ended == before) break;
    }
    return ended;
  }

 private:
  static constexpr int most_rounds = 64;
};

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
  int pipe = -1;
  std::unique_ptr<BlackBox> box;
  std::unique_ptr<Watched> process;
  std::string said;
};

/// A text that came whole ends with this; one that did not is worth nothing.
constexpr char whole = '\n';

Child start(std::size_t index, const std::function<std::string(std::size_t)>& work,
            const ChildSignalBlocked& blocked) {
  std::array<int, 2> ends{};
  if (pipe(ends.data()) != 0) throw std::runtime_error{tr("no pipe to another process")};
  auto box = std::make_unique<BlackBox>();
  const pid_t process = forked();
  if (process != 0) {
    setpgid(process, process);  // here and there, so that it is so for both
    close(ends[1]);
    auto watched = std::make_unique<Watched>(process, *box);
    return {index, ends[0], std::move(box), std::move(watched), {}};
  }
  setpgid(0, 0);
  blocked.undo();
  box->use();
  close(ends[0]);
  confine(Confinement::scenario);
  begin_counting();
  try {
    const std::string said = work(index) + whole;
    hand_over_counts();
    write_all(ends[1], said);
    std::fflush(nullptr);
    box->mark_ended(exit_fine);
  } catch (const std::exception& error) {
    print_err(fmt::format("drybus: {}\n", reason_of(error)));
    std::fflush(nullptr);
  }
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

/// Of a child that is gone. Whatever it started itself may still hold the other end.
void take_in_the_rest(Child& child) {
  pollfd file{child.pipe, POLLIN, 0};
  while (poll(&file, 1, 0) > 0 && take_in(child)) {
  }
}

}  // namespace

int in_child(const std::function<int()>& work, Confinement confinement) {
  const BlackBox box;
  OrphansEnded orphans;
  const ChildSignalBlocked blocked;
  const pid_t child = forked();
  if (child == 0) {
    blocked.undo();
    box.use();
    confine(confinement);
    const int code = work();
    std::fflush(nullptr);
    box.mark_ended(code);
    _exit(code);
  }
  // Ctrl-C is for the child: what it makes of it is what this process makes of it.
  struct sigaction ignore {};
  ignore.sa_handler = SIG_IGN;
  struct sigaction before {};
  sigaction(SIGINT, &ignore, &before);
  Watched watched{child, box};
  watched.wait();
  sigaction(SIGINT, &before, nullptr);
  const std::size_t left = orphans.end();
  if (left != 0) {
    print_err(plural("drybus: the firmware started another process, which was left behind, and ended\n",
                     "drybus: the firmware started {} processes, which were left behind, and ended\n", left,
                     left));
  }
  if (watched.came_to_its_end()) {
    const int code = WEXITSTATUS(watched.status());
    return left != 0 && code == exit_fine ? exit_failed : code;
  }
  if (WIFSIGNALED(watched.status()) && WTERMSIG(watched.status()) == SIGINT) raise(SIGINT);
  print_err(fmt::format("drybus: {}: {}\n", watched.how(), model::in_words_spoken(could_not_be_stopped)));
  return exit_failed;
}

std::vector<std::string> in_children(
    std::size_t count, std::size_t jobs, const std::function<std::string(std::size_t)>& work,
    const std::function<std::string(std::size_t, const std::string&)>& lost) {
  std::vector<std::string> results(count);
  std::vector<Child> under_way;
  const ChildSignalBlocked blocked;
  const std::size_t most = thread_count(jobs);
  std::size_t next = 0;
  while (next < count || !under_way.empty()) {
    while (next < count && under_way.size() < most) under_way.push_back(start(next++, work, blocked));
    std::vector<pollfd> files;
    files.reserve(under_way.size());
    for (const Child& child : under_way) files.push_back({child.pipe, POLLIN, 0});
    if (poll(files.data(), files.size(), static_cast<int>(tick.count())) < 0 && errno != EINTR)
      throw std::runtime_error{tr("waiting for processes failed")};
    for (std::size_t i = files.size(); i-- > 0;) {
      Child& child = under_way[i];
      const bool has_closed = files[i].revents != 0 && !take_in(child);
      if (!has_closed && !child.process->is_over()) continue;
      if (has_closed) {
        child.process->wait();
      } else {
        take_in_the_rest(child);
      }
      close(child.pipe);
      kill(-child.process->id(), SIGKILL);  // whatever it left behind in its group
      const bool came_whole =
          child.process->came_to_its_end() && !child.said.empty() && child.said.back() == whole;
      if (came_whole) child.said.pop_back();
      results[child.index] = came_whole ? child.said : lost(child.index, child.process->how());
      under_way.erase(under_way.begin() + static_cast<std::ptrdiff_t>(i));
    }
  }
  take_in_counts();
  check_outputs({});  // what a child read, this process does not write over
  return results;
}

}  // namespace drybus::tools
