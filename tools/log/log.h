// What happens to a program that goes on for long, for whoever looks after it: lines in a file, and warnings on the
// terminal. Nothing of it reaches a record or a digest, and no key to the panel is ever put in. The library that writes it is seen
// by log.cpp alone.
#pragma once

#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

enum class LogLevel { trace, debug, info, warn, error, critical, off };

/// "trace", "debug", ... "off", in this order.
std::vector<std::string> log_level_names();
std::optional<LogLevel> log_level_named(std::string_view name);

enum class LogForm { text, json };

struct LogOptions {
  std::filesystem::path file = {};  ///< empty: none, and what is said goes to the terminal
  LogLevel level = LogLevel::warn;  ///< of what is said; warnings go to the terminal, too, unless `off`
  std::vector<std::filesystem::path> never = {};  ///< files that a log is never written to
  std::string command = "panel";                  ///< whose log it is: in every line
  LogForm form = LogForm::text;                   ///< json: a JSON object a line, in the file
  bool on_terminal = true;                        ///< false: for a command that tells on the terminal by itself
};

class Log {
 public:
  /// Says nothing.
  Log() = default;
  /// Adds to the file, or makes it. Throws Unusable when that cannot be had, or would harm a file that is no
  /// log.
  explicit Log(const LogOptions& options);

  [[nodiscard]] bool says(LogLevel level) const;
  /// One line, whatever stands in the words.
  void write(LogLevel level, std::string_view words) const;

  template <class... Args>
  void trace(fmt::format_string<Args...> format, Args&&... args) const {
    say(LogLevel::trace, format, std::forward<Args>(args)...);
  }
  template <class... Args>
  void debug(fmt::format_string<Args...> format, Args&&... args) const {
    say(LogLevel::debug, format, std::forward<Args>(args)...);
  }
  template <class... Args>
  void info(fmt::format_string<Args...> format, Args&&... args) const {
    say(LogLevel::info, format, std::forward<Args>(args)...);
  }
  template <class... Args>
  void warn(fmt::format_string<Args...> format, Args&&... args) const {
    say(LogLevel::warn, format, std::forward<Args>(args)...);
  }
  template <class... Args>
  void error(fmt::format_string<Args...> format, Args&&... args) const {
    say(LogLevel::error, format, std::forward<Args>(args)...);
  }

 private:
  template <class... Args>
  void say(LogLevel level, fmt::format_string<Args...> format, Args&&... args) const {
    if (says(level)) write(level, fmt::format(format, std::forward<Args>(args)...));
  }

  std::shared_ptr<class LogWriter> writer_;
};

}  // namespace drybus::tools
