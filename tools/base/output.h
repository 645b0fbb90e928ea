// Writing: files whole or not at all, and a terminal that may be none.
#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <mutex>
#include <span>
#include <string>
#include <string_view>

namespace drybus::tools {

/// Writes a file by way of a temporary one beside it, so that nobody ever finds half of it; a link stays, and
/// what it stands for is written. "-" is standard output; a pipe with a reader, a terminal and the null device
/// are written to as they are. Throws Unusable where nothing can be written (output_place.h), and over a file
/// that was read (file_claims.h).
void write_file(const std::filesystem::path& path, std::string_view content);

struct OutputFile {
  std::filesystem::path path;
  std::string_view content;
};

/// Writes several files, each as write_file does: when one of them cannot be written, none is.
void write_files(std::span<const OutputFile> files);

/// Prints on standard output, as `printable` (utf8.h) has it. When the reader has gone away, the rest is not printed,
/// and the program goes on to its exit code; a full disk throws Unusable.
void print_out(std::string_view text);

/// Prints on standard error, likewise.
void print_err(std::string_view text);

/// Whether colour and progress are wanted: standard output (error) is a terminal and NO_COLOR is not set.
bool colour_wanted();
bool progress_wanted();

/// Text in a terminal's colours where those are wanted, else as it is. Colours are marks within the text (characters
/// that no text may hold), which become a terminal's when they are printed.
enum class Ink { plain, dim, bold, red, green, yellow };
std::string inked(std::string_view text, Ink ink);

/// What print_out would print where there is no terminal, for a file.
std::string as_printed(std::string_view text);

/// A line on the terminal that tells how far the work is, a few times a second; none where nobody looks. It goes when
/// this does. Several threads may show.
class ProgressLine {
 public:
  ProgressLine() = default;
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  /// Shows what `text` returns, unless the last one was shown a moment ago. `text` is given the seconds gone by.
  void show(const std::function<std::string(double gone_s)>& text);

 private:
  std::mutex mutex_;
  std::chrono::steady_clock::time_point begun_ = std::chrono::steady_clock::now();
  std::chrono::steady_clock::time_point last_ = begun_;
  bool shown_ = false;
};

}  // namespace drybus::tools
