// CSV as spreadsheets write it, by way of libcsv, which reads quotes and line ends within cells as RFC 4180 has them
// (Boost's escaped_list_separator takes a backslash for an escape and knows no doubled quotation mark).
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "tools/schedule/table.h"

namespace drybus::tools {

/// Which of ; , tab and | separates the cells: the one that cuts most of the first lines into the same number of
/// cells, the most cells first. A first line "sep=;" says so itself.
char separator_of(std::string_view text);

/// Throws Unusable for a quotation mark that is never closed (told by its cell), for what is no text, and for more than
/// a table may hold.
Table read_csv(const std::string& path, std::string_view bytes);

/// One line of CSV with its end, RFC 4180. What a spreadsheet would take for a formula gets an apostrophe before it.
std::string csv_line(std::span<const std::string> cells);

}  // namespace drybus::tools
