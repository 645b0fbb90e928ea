// Reads a record back from its JSON Lines.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "tools/script/problem.h"

namespace drybus::tools {

/// One line of a record, in words: no scenario is needed to read it.
struct ToldEntry {
  std::uint64_t id = 0;
  std::int64_t at_ns = 0;
  std::string kind;
  std::string who;
  std::uint64_t a = 0;
  std::uint64_t b = 0;
  std::uint64_t cause = 0;    ///< id of an earlier entry, 0: none
  std::uint64_t because = 0;  ///< likewise
  std::string text;
  friend bool operator==(const ToldEntry&, const ToldEntry&) = default;
};

/// Larger records are refused, bytes.
inline constexpr std::size_t max_record_bytes = std::size_t{512} << 20;

/// `file` names the text in problems. Reading stops at the first line that is no entry: ids count from 1 without gaps,
/// times never fall and causes are earlier entries.
Reading<std::vector<ToldEntry>> read_record_lines(std::string_view text, const std::string& file);

}  // namespace drybus::tools
