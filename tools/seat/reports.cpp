#include "tools/seat/reports.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <pthread.h>
#include <sys/mman.h>
#include <unistd.h>

#include <array>
#include <cstdint>
#include <filesystem>
#include <regex>
#include <sstream>

#include "model/words/words.h"
#include "tools/seat/black_box.h"
#include "tools/seat/way_back.h"

namespace drybus::tools {

using model::tr;

namespace {

using SetFile = void (*)(void*);
using SetDeath = void (*)(void (*)());

/// Where reports go: a file without a name, of this process alone.
struct Reports {
  SetFile set_file = nullptr;
  int file = -1;
  off_t read = 0;
};
Reports reports;

/// A copy: a sanitizer closes what it was given when it opens its own way of reporting.
void give_file() {
  const std::intptr_t copy = fcntl(reports.file, F_DUPFD_CLOEXEC, 0);
  reports.set_file(reinterpret_cast<void*>(copy));  // NOLINT(performance-no-int-to-ptr)
}

void open_file() {
  if (reports.set_file == nullptr) return;
  reports.file = memfd_create("reports", MFD_CLOEXEC);
  reports.read = 0;
  give_file();
}

std::string unread() {
  std::string text;
  std::array<char, 4096> buffer{};
  for (;;) {
    const ssize_t count = pread(reports.file, buffer.data(), buffer.size(), reports.read);
    if (count <= 0) return text;
    text.append(buffer.data(), static_cast<std::size_t>(count));
    reports.read += count;
  }
}

/// "module.c:88" of a path with line and column.
std::string short_place(const std::string& path) {
  return std::filesystem::path{path}.filename().string();
}

/// The report's first sentence and the first place of the library's, without addresses: they are others in every run.
std::string in_a_line(const std::string& report) {
  static const std::regex runtime_error{R"(^(\S+:\d+):\d+: (runtime error: .*)$)"};
  static const std::regex error{R"(ERROR: (\w+Sanitizer: [\w-]+))"};
  static const std::regex place{R"(#\d+ 0x[0-9a-f]+ in (\w+) (\S+:\d+))"};
  std::istringstream lines{report};
  std::string what;
  for (std::string line; std::getline(lines, line);) {
    std::smatch found;
    if (std::regex_search(line, found, runtime_error))
      return tr("its sanitizer reports at {}: {}", short_place(found[1]), found[2].str());
    if (what.empty() && std::regex_search(line, found, error)) what = found[1];
    if (!what.empty() && std::regex_search(line, found, place) &&
        found[2].str().find("sanitizer") == std::string::npos)
      return tr("its sanitizer reports {}, at {}, in {}", what, short_place(found[2]), found[1].str());
  }
  return what.empty() ? tr("its sanitizer reports something") : tr("its sanitizer reports {}", what);
}

/// A sanitizer ends the process now, unless the thread leaves the handler.
void on_death() {
  static thread_local std::string last;
  last = new_report();
  if (last.empty()) last = tr("its sanitizer ends the program");
  way.trace.count = 0;
  if (way.active != 0) come_back({0, nullptr, last.c_str()});
  note_work(last);
}

}  // namespace

void take_reports(void* library) {
  auto* set_file = reinterpret_cast<SetFile>(dlsym(library, "__sanitizer_set_report_fd"));
  if (set_file == nullptr) return;
  const bool first = reports.set_file == nullptr;
  reports.set_file = set_file;
  open_file();
  if (auto* set_death = reinterpret_cast<SetDeath>(dlsym(library, "__sanitizer_set_death_callback"));
      set_death != nullptr)
    set_death(on_death);
  if (first) pthread_atfork(nullptr, nullptr, open_file);
}

bool sanitizers_report() {
  return reports.set_file != nullptr;
}

/// UndefinedBehaviorSanitizer opens its own way of reporting with its first report, over ours.
void come_before_it() {
  if (reports.set_file != nullptr) give_file();
}

std::string new_report() {
  if (reports.file < 0) return {};
  const std::string report = unread();
  return report.empty() ? report : in_a_line(report);
}

}  // namespace drybus::tools

/// Called by UndefinedBehaviorSanitizer before it prints a report: a hook of its interface, which the program exports.
extern "C" [[gnu::visibility("default")]] void __ubsan_on_report();  // NOLINT(bugprone-reserved-identifier)
extern "C" void __ubsan_on_report() {                                // NOLINT(bugprone-reserved-identifier)
  drybus::tools::come_before_it();
}
