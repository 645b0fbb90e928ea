// Labels of a schedule: those that a cell joins, those that several circuits share, and where a plate's label says it is.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "tools/schedule/schedule.h"

namespace drybus::tools {

/// Characters of a label that is kept; what is longer is cut.
inline constexpr std::size_t max_label_characters = 80;

/// "Hall door + Hall window" are two plates. What `known` (in lower case) names as a whole is not parted.
std::vector<std::string> plate_labels(std::string_view cell, const std::set<std::string>& known);

/// Whether plate_labels would part a label of its own accord.
bool has_label_separator(std::string_view label);

/// The label without what would part it.
std::string without_label_separators(std::string_view label);

/// The room that a plate's label names: the longest, of those that it serves before all others.
std::optional<std::string> room_named(std::string_view label, const std::vector<std::string>& serves,
                                      const std::vector<std::string>& rooms);

/// A label that several circuits have gets its room, and a number where that does not help.
void make_labels_different(std::vector<Circuit>& circuits);

}  // namespace drybus::tools
