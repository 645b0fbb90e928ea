// Writing: files whole or not at all, and a terminal that may be none.
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <string_view>

namespace drybus::tools {

/// Writes a file by way of a temporary one beside it, so that nobody ever finds half of it. "-" is standard
/// output; a path that exists and is no regular file (a pipe, /dev/stdout) is written to as it is. Throws
/// Unusable.
void write_file(const std::filesystem::path& path, std::string_view content);

struct OutputFile {
  std::filesystem::path path;
  std::string_view content;
};

/// Writes several files, each as write_file does: when one of them cannot be written, none is.
void write_files(std::span<const OutputFile> files);

/// Prints on standard output. A reader that has gone away ends the program quietly; a full disk throws
/// Unusable.
void print_out(std::string_view text);

/// Prints on standard error.
void print_err(std::string_view text);

/// Whether colour and progress are wanted: standard output (error) is a terminal and NO_COLOR is not set.
bool colour_wanted();
bool progress_wanted();

/// Text in a terminal's colours where those are wanted, else as it is.
enum class Ink { plain, dim, bold, red, green, yellow };
std::string inked(std::string_view text, Ink ink);

}  // namespace drybus::tools
