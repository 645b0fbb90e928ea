#include "tools/schedule/table.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/schedule/csv.h"
#include "tools/schedule/ods.h"
#include "tools/script/files.h"

namespace drybus::tools {

using model::tr;

const Cell& Table::at(std::size_t row, std::size_t column) const {
  static const Cell empty;
  return row < rows.size() && column < rows[row].size() ? rows[row][column] : empty;
}

std::size_t Table::column_count() const {
  std::size_t most = 0;
  for (const auto& row : rows) most = std::max(most, row.size());
  return most;
}

std::string column_name(std::size_t column) {
  std::string name;
  for (std::size_t rest = column + 1; rest > 0; rest = (rest - 1) / 26)
    name.insert(name.begin(), static_cast<char>('A' + (rest - 1) % 26));
  return name;
}

std::string cell_name(std::size_t row, std::size_t column) {
  return fmt::format("{}{}", column_name(column), row + 1);
}

std::string tidied(std::string_view text) {
  std::string clean;
  bool blank = false;
  const auto add = [&](std::string_view part) {
    if (blank && !clean.empty()) clean += ' ';
    blank = false;
    clean += part;
  };
  constexpr std::string_view no_break_space = "\xC2\xA0";
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c <= ' ' || c == 0x7f) {
      blank = true;
    } else if (text.substr(i, 2) == no_break_space) {
      blank = true;
      ++i;
    } else {
      add(text.substr(i, 1));
    }
  }
  return first_bad_character(clean) ? harmless(clean) : clean;
}

bool looks_like_formula(std::string_view text) {
  if (text.size() > 1 && text.front() == '=') return true;
  constexpr std::array<std::string_view, 9> failures = {"#REF!",  "#NAME?", "#VALUE!", "#DIV/0!", "#N/A",
                                                        "#NULL!", "#NUM!",  "Err:",    "###"};
  return std::any_of(failures.begin(), failures.end(),
                     [text](std::string_view failure) { return text.starts_with(failure); });
}

Table read_table(const std::string& path, const std::string& sheet) {
  const auto content = DiskFiles{max_table_bytes}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&content))
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  return parse_table(path, std::get<std::string>(content), sheet);
}

Table parse_table(const std::string& path, std::string_view bytes, const std::string& sheet) {
  constexpr std::string_view zip_begins = "PK\x03\x04";
  Table table = bytes.starts_with(zip_begins) ? read_ods(path, bytes, sheet) : read_csv(path, bytes);
  const bool empty = std::all_of(table.rows.begin(), table.rows.end(), [](const std::vector<Cell>& row) {
    return std::all_of(row.begin(), row.end(), [](const Cell& cell) { return cell.text.empty(); });
  });
  if (empty) throw Unusable{tr("{}: there is nothing in it", path)};
  return table;
}

}  // namespace drybus::tools
