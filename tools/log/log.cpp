#include "tools/log/log.h"

#include <fcntl.h>
#include <spdlog/logger.h>
#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/rotating_file_sink.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <boost/json.hpp>
#include <cerrno>
#include <cstring>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::tr;

namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_bytes_of_a_file = std::size_t{8} << 20;
constexpr std::size_t most_old_files = 3;
constexpr std::size_t longest_line = 600;

/// How every line of ours begins: what does not is no log of that command, and nothing is added to it.
std::string beginning_of_a_line(const LogOptions& options) {
  if (options.form == LogForm::text) return fmt::format("drybus {} ", options.command);
  return fmt::format(R"({{"drybus":"{}",)", options.command);
}

std::string text_pattern(const LogOptions& options) {
  return fmt::format("drybus {} %Y-%m-%dT%H:%M:%S.%e%z %l: %v", options.command);
}

/// What was said, as a JSON string.
class JsonWords final : public spdlog::custom_flag_formatter {
 public:
  void format(const spdlog::details::log_msg& message, const std::tm&, spdlog::memory_buf_t& out) override {
    const std::string words =
        boost::json::serialize(boost::json::string{message.payload.data(), message.payload.size()});
    out.append(words.data(), words.data() + words.size());
  }
  [[nodiscard]] std::unique_ptr<custom_flag_formatter> clone() const override {
    return std::make_unique<JsonWords>();
  }
};

std::unique_ptr<spdlog::formatter> json_lines(const LogOptions& options) {
  auto lines = std::make_unique<spdlog::pattern_formatter>();
  lines->add_flag<JsonWords>('*').set_pattern(fmt::format(
      R"({{"drybus":"{}","at":"%Y-%m-%dT%H:%M:%S.%e%z","level":"%l","text":%*}})", options.command));
  return lines;
}

constexpr std::array<std::string_view, 7> names = {"trace", "debug",    "info", "warn",
                                                   "error", "critical", "off"};

spdlog::level::level_enum library_level(LogLevel level) {
  switch (level) {
    case LogLevel::trace:
      return spdlog::level::trace;
    case LogLevel::debug:
      return spdlog::level::debug;
    case LogLevel::info:
      return spdlog::level::info;
    case LogLevel::warn:
      return spdlog::level::warn;
    case LogLevel::error:
      return spdlog::level::err;
    case LogLevel::critical:
      return spdlog::level::critical;
    case LogLevel::off:
      return spdlog::level::off;
  }
  return spdlog::level::off;
}

[[noreturn]] void cannot_log(const fs::path& file, std::string_view why) {
  throw Unusable{tr("cannot write a log to '{}': {}", harmless(file.string()), why)};
}

bool is_same_file(const fs::path& a, const fs::path& b) {
  std::error_code error;
  return fs::equivalent(a, b, error) || fs::weakly_canonical(a, error) == fs::weakly_canonical(b, error);
}

/// The file is a log of ours, or empty, or is made now; also for the names that old logs are moved to.
void require_a_log(const fs::path& file, const std::string& beginning) {
  // Nobody waits for the other end of a pipe, and a new file is for its owner alone.
  const int opened = ::open(file.c_str(), O_RDWR | O_CREAT | O_NONBLOCK | O_CLOEXEC | O_NOCTTY, 0600);
  if (opened < 0) cannot_log(file, std::strerror(errno));
  struct stat found {};
  std::string begins(beginning.size(), ' ');
  const bool is_file = ::fstat(opened, &found) == 0 && S_ISREG(found.st_mode);
  const ssize_t size = is_file ? ::pread(opened, begins.data(), begins.size(), 0) : 0;
  ::close(opened);
  if (!is_file) cannot_log(file, tr("it is no plain file"));
  if (size > 0 && std::string_view{begins.data(), static_cast<std::size_t>(size)} != beginning) {
    cannot_log(
        file, tr("it holds something else; name a new file, or an earlier log of the same command and form"));
  }
}

void require_harmless(const LogOptions& options) {
  for (std::size_t i = most_old_files + 1; i-- > 0;) {  // its own name last, for that is made
    const fs::path file = spdlog::sinks::rotating_file_sink_mt::calc_filename(options.file.string(), i);
    for (const fs::path& never : options.never) {
      if (is_same_file(file, never)) cannot_log(file, tr("the scenario is read from there"));
    }
    std::error_code error;
    if (i == 0 || fs::exists(fs::symlink_status(file, error)))
      require_a_log(file, beginning_of_a_line(options));
  }
}

}  // namespace

std::vector<std::string> log_level_names() {
  return {names.begin(), names.end()};
}

std::optional<LogLevel> log_level_named(std::string_view name) {
  const auto found = std::find(names.begin(), names.end(), name);
  if (found == names.end()) return std::nullopt;
  return static_cast<LogLevel>(found - names.begin());
}

class LogWriter {
 public:
  explicit LogWriter(const LogOptions& options) {
    const auto level = library_level(options.level);
    const bool has_file = !options.file.empty();
    if (options.on_terminal) {
      auto terminal = std::make_shared<spdlog::sinks::stderr_sink_mt>();
      terminal->set_level(has_file ? std::max(level, spdlog::level::warn) : level);
      logger.sinks().push_back(std::move(terminal));
    }
    if (has_file) {
      auto file = std::make_shared<spdlog::sinks::rotating_file_sink_mt>(
          options.file.string(), most_bytes_of_a_file, most_old_files);
      file->set_level(level);
      logger.sinks().push_back(std::move(file));
    }
    logger.set_level(level);
    logger.set_pattern(text_pattern(options));
    if (has_file && options.form == LogForm::json) logger.sinks().back()->set_formatter(json_lines(options));
    logger.flush_on(spdlog::level::trace);  // what was said is there, however the program ends
  }

  spdlog::logger logger{"drybus"};
};

Log::Log(const LogOptions& options) {
  if (!options.file.empty()) require_harmless(options);
  try {
    writer_ = std::make_shared<LogWriter>(options);
  } catch (const spdlog::spdlog_ex& error) {
    cannot_log(options.file, error.what());
  }
}

bool Log::says(LogLevel level) const {
  return writer_ && level != LogLevel::off && writer_->logger.should_log(library_level(level));
}

void Log::write(LogLevel level, std::string_view words) const {
  if (!says(level)) return;
  const std::string_view shown = characters(words, 0, longest_line);
  writer_->logger.log(library_level(level), "{}{}", harmless(shown),
                      shown.size() < words.size() ? " ..." : "");
}

}  // namespace drybus::tools
