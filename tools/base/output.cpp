#include "tools/base/output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <deque>
#include <utility>
#include <vector>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/output_place.h"
#include "tools/base/staged_file.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::tr;

namespace {

bool reader_gone = false;  ///< of standard output

void write_to_standard_output(std::string_view bytes) {
  if (reader_gone) return;
  if (std::fwrite(bytes.data(), 1, bytes.size(), stdout) == bytes.size() && std::fflush(stdout) == 0) return;
  if (errno != EPIPE) throw Unusable{tr("standard output: cannot be written: {}", std::strerror(errno))};
  reader_gone = true;
}

void write_straight(const OutputFile& output, const OutputPlace& place) {
  if (place.descriptor == STDOUT_FILENO) return write_to_standard_output(output.content);
  if (place.kind == OutputPlace::Kind::descriptor) {
    return write_whole(place.descriptor, output.content, output.path);
  }
  const int file = ::open(place.target.c_str(), O_WRONLY | O_NOCTTY | O_CLOEXEC);
  if (file < 0) cannot_write(output.path, errno);
  try {
    write_whole(file, output.content, output.path);
  } catch (...) {
    ::close(file);
    throw;
  }
  if (::close(file) != 0) cannot_write(output.path, errno);
}

void check(std::span<const OutputFile> files) {
  std::vector<std::filesystem::path> paths;
  for (const OutputFile& file : files) paths.push_back(file.path);
  check_outputs(paths);
}

}  // namespace

void write_file(const std::filesystem::path& path, std::string_view content) {
  write_files(std::array{OutputFile{path, content}});
}

void write_files(std::span<const OutputFile> files) {
  check(files);
  std::deque<StagedFile> staged;
  std::vector<std::pair<const OutputFile*, OutputPlace>> straight;
  for (const OutputFile& file : files) {
    OutputPlace place = output_place(file.path);
    if (place.kind == OutputPlace::Kind::file) {
      staged.emplace_back(file.path, std::move(place.target), file.content).write();
    } else {
      straight.emplace_back(&file, std::move(place));
    }
  }
  for (const auto& [file, place] : straight) write_straight(*file, place);
  for (StagedFile& file : staged) file.become_real();
}

// --- terminals -------------------------------------------------------------------------------------------------

namespace {

bool plain_wanted() {
  const char* no_colour = std::getenv("NO_COLOR");
  return no_colour != nullptr && *no_colour != '\0';
}

/// Marks of colour are U+FDD0 and those after it, which are no characters; the first ends all colour.
constexpr std::string_view mark_lead = "\xef\xb7";
constexpr unsigned char first_mark = 0x90;

/// What a terminal calls a colour; nothing for a number that is none.
constexpr std::string_view code(Ink ink) {
  switch (ink) {
    case Ink::plain:
      return "0";
    case Ink::dim:
      return "2";
    case Ink::bold:
      return "1";
    case Ink::red:
      return "31";
    case Ink::green:
      return "32";
    case Ink::yellow:
      return "33";
  }
  return "";
}

std::string mark(Ink ink) {
  return std::string{mark_lead} + static_cast<char>(first_mark + static_cast<unsigned char>(ink));
}

/// `each_text` is given what stands between two marks, `each_mark` the colour from there on.
template <class EachText, class EachMark>
void split_at_marks(std::string_view text, EachText each_text, EachMark each_mark) {
  std::size_t begin = 0;
  for (std::size_t at = text.find(mark_lead); at != std::string_view::npos;
       at = text.find(mark_lead, at + 1)) {
    if (at + 2 >= text.size()) break;
    const Ink ink{static_cast<unsigned char>(text[at + 2]) - int{first_mark}};
    if (code(ink).empty()) continue;
    each_text(text.substr(begin, at - begin));
    each_mark(ink);
    begin = at + 3;
  }
  each_text(text.substr(begin));
}

std::string for_people(std::string_view text, bool coloured) {
  std::string shown;
  Ink last = Ink::plain;
  split_at_marks(
      text, [&](std::string_view part) { shown += printable(part); },
      [&](Ink ink) {
        last = ink;
        if (coloured) shown += fmt::format("\x1b[{}m", code(ink));
      });
  if (coloured && last != Ink::plain) shown += "\x1b[0m";
  return shown;
}

void write_to_standard_error(std::string_view bytes) {
  std::fwrite(bytes.data(), 1, bytes.size(), stderr);
  std::fflush(stderr);
}

constexpr std::string_view clear_line = "\r\x1b[K";

}  // namespace

void print_out(std::string_view text) {
  write_to_standard_output(for_people(text, colour_wanted()));
}

void print_err(std::string_view text) {
  write_to_standard_error(for_people(text, !plain_wanted() && progress_wanted()));
}

bool colour_wanted() {
  return !plain_wanted() && ::isatty(STDOUT_FILENO) != 0;
}
bool progress_wanted() {
  return ::isatty(STDERR_FILENO) != 0;
}

std::string inked(std::string_view text, Ink ink) {
  if (ink == Ink::plain || !colour_wanted()) return std::string{text};
  return mark(ink) + std::string{text} + mark(Ink::plain);
}

std::string as_printed(std::string_view text) {
  return for_people(text, false);
}

ProgressLine::~ProgressLine() {
  if (shown_) write_to_standard_error(clear_line);
}

void ProgressLine::show(const std::function<std::string(double gone_s)>& text) {
  if (!progress_wanted()) return;
  const std::lock_guard lock{mutex_};
  const auto now = std::chrono::steady_clock::now();
  if (now - last_ < std::chrono::milliseconds{200}) return;
  last_ = now;
  shown_ = true;
  const double gone_s = std::chrono::duration<double>(now - begun_).count();
  write_to_standard_error(std::string{clear_line} + printable(text(gone_s)));
}

}  // namespace drybus::tools
