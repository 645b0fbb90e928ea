// A sheet of a spreadsheet as rows of cells, and how people name them.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

/// Larger sheets are refused: no site has so many lines.
inline constexpr std::size_t max_table_rows = 100'000;
inline constexpr std::size_t max_table_columns = 256;
inline constexpr std::size_t max_table_bytes = std::size_t{16} << 20;
/// Characters of a cell; more is no entry of a schedule.
inline constexpr std::size_t max_cell_characters = 300;

struct Cell {
  std::string text;      ///< without blanks around it, on one line
  bool formula = false;  ///< a formula whose result is not known, or that failed
  bool covered = false;  ///< belongs to the merged cell left of it or above
};

struct Table {
  std::string path;
  std::string format;                   ///< how it was read: "UTF-8, separated by ;"
  std::vector<std::vector<Cell>> rows;  ///< [0] is row 1; rows need not be equally long

  /// The cell, or an empty one where the row is too short.
  [[nodiscard]] const Cell& at(std::size_t row, std::size_t column) const;
  [[nodiscard]] std::size_t column_count() const;
};

/// "A", "B", ... "Z", "AA", for columns from 0.
std::string column_name(std::size_t column);
/// "B7", for row and column from 0.
std::string cell_name(std::size_t row, std::size_t column);

/// A cell's text: line ends and what cannot be printed become blanks, blanks around it go.
std::string tidied(std::string_view text);

/// Whether a spreadsheet left a formula or the sign that one failed in this text: "=SUM(C2:C9)", "#REF!".
bool looks_like_formula(std::string_view text);

/// Reads a sheet: CSV whatever its separator and encoding, or an OpenDocument spreadsheet (its first sheet, unless
/// `sheet` names one). Throws Unusable when the file is neither, or larger than a table may be.
Table read_table(const std::string& path, const std::string& sheet = {});

/// The same for what a file holds; `path` names it in messages.
Table parse_table(const std::string& path, std::string_view bytes, const std::string& sheet = {});

}  // namespace drybus::tools
