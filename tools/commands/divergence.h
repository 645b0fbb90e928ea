// Where two records part.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "tools/export/record_reader.h"

namespace drybus::tools {

/// Indices of the first entries that differ; an index at its record's end means that this record has ended there.
struct Parting {
  std::size_t a = 0;
  std::size_t b = 0;
};

/// Nothing when the two are the same, entry by entry, causes included.
std::optional<Parting> first_difference(const std::vector<ToldEntry>& a, const std::vector<ToldEntry>& b);

/// The same, of what can be seen only: indicators and loads. Entries before the first difference need not be alike otherwise.
std::optional<Parting> first_visible_difference(const std::vector<ToldEntry>& a,
                                                const std::vector<ToldEntry>& b);

/// An entry and what led to it, itself first, back to the step or the beginning; at most `limit` lines.
std::vector<const ToldEntry*> causes_of(const std::vector<ToldEntry>& record, std::size_t index,
                                        std::size_t limit = 12);

}  // namespace drybus::tools
