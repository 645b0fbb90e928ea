// Lines that a device's firmware logs: entries of the record, of the kind `said`. An entry holds a number that stands for its
// text; the same text has the same number in every process.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace drybus::model {

/// Within a reaction, by the thread that it runs in: what is not printable becomes '?'.
void say(std::string_view line);
/// How many lines were said since they were last taken.
[[nodiscard]] std::size_t lines_said();
/// Forgets all but the first `count` of them.
void take_back_said(std::size_t count);
/// Hands them over.
[[nodiscard]] std::vector<std::string> take_said();

/// The number that stands for a text from now on. Of more than 64 MB only the numbers are kept.
std::uint64_t keep_said(const std::string& text);
/// The text; "a line that was not kept" when there is none.
[[nodiscard]] std::string said_text(std::uint64_t number);

}  // namespace drybus::model
