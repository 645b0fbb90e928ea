#include "tools/schedule/csv.h"

#include <csv.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <stdexcept>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/schedule/encoding.h"

namespace drybus::tools {

using model::tr;

namespace {

std::string separator_name(char separator) {
  return separator == '\t' ? tr("tabs") : std::string{separator};
}

std::string_view without_mark(std::string_view text) {
  constexpr std::string_view says = "sep=";
  if (!text.starts_with(says)) return text;
  const auto end = text.find('\n');
  return end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
}

/// What a spreadsheet would take for a formula, or for one that failed, whatever apostrophes stand before it.
bool is_taken_for_formula(std::string_view text) {
  text.remove_prefix(std::min(text.find_first_not_of('\''), text.size()));
  return !text.empty() && (std::string_view{"=+-@\t\r"}.find(text.front()) != std::string_view::npos ||
                           looks_like_formula(text));
}

/// How many times each candidate stands in a line outside quotation marks, for the first lines.
std::vector<std::size_t> counts_of(std::string_view text, char separator) {
  constexpr std::size_t enough_lines = 60;
  std::vector<std::size_t> counts{0};
  bool quoted = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == separator) ++counts.back();
    if (c != '\n') continue;
    if (counts.size() == enough_lines) break;
    counts.push_back(0);
  }
  return counts;
}

/// What libcsv calls back to; it throws nothing through C.
struct Reading {
  Table table;
  std::vector<Cell> row;
  char last_end = 0;  ///< the line end that came last, while nothing has come since
  std::string refusal;
  bool full = false;

  void cell(std::string_view text) {
    last_end = 0;
    if (!refusal.empty()) return;
    const std::size_t at_row = table.rows.size();
    if (row.size() == max_table_columns)
      refusal = tr("row {} has more than {} cells", at_row + 1, max_table_columns);
    if (character_count(text) > max_cell_characters) {
      refusal = tr("{}: a cell of {} characters; more than {} are no entry of a schedule",
                   cell_name(at_row, row.size()), character_count(text), max_cell_characters);
    }
    Cell read{tidied(text), false, false};
    read.formula = looks_like_formula(read.text);
    // What our own writing put before a text that looks like a formula.
    if (read.text.starts_with('\'') && is_taken_for_formula(read.text)) read.text.erase(0, 1);
    row.push_back(std::move(read));
  }

  void end_row(int end) {
    const bool second_half = end == '\n' && last_end == '\r' && row.empty();
    last_end = static_cast<char>(end == '\r' ? '\r' : 0);
    if (second_half || (end == -1 && row.empty()) || !refusal.empty()) return;
    if (table.rows.size() == max_table_rows) {
      refusal = tr("more than {} rows", max_table_rows);
      return;
    }
    table.rows.push_back(std::move(row));
    row.clear();
  }
};

void take_cell(void* text, std::size_t length, void* reading) {
  static_cast<Reading*>(reading)->cell({static_cast<const char*>(text), length});
}

void take_end(int end, void* reading) {
  static_cast<Reading*>(reading)->end_row(end);
}

/// Frees the parser, whatever happens.
class Parser {
 public:
  explicit Parser(char separator) {
    if (csv_init(&parser_, CSV_REPALL_NL) != 0) throw std::bad_alloc{};
    csv_set_delim(&parser_, static_cast<unsigned char>(separator));
  }
  ~Parser() { csv_free(&parser_); }
  Parser(const Parser&) = delete;
  Parser& operator=(const Parser&) = delete;

  /// False where the last quotation mark is never closed.
  bool parse(std::string_view text, Reading& reading) {
    if (csv_parse(&parser_, text.data(), text.size(), take_cell, take_end, &reading) != text.size())
      throw std::bad_alloc{};
    // libcsv tells of it only in its strict mode, which refuses much that spreadsheets write.
    constexpr int field_begun = 2;
    if (parser_.pstate == field_begun && parser_.quoted != 0) return false;
    csv_fini(&parser_, take_cell, take_end, &reading);
    return true;
  }

 private:
  csv_parser parser_{};
};

}  // namespace

char separator_of(std::string_view text) {
  constexpr std::string_view says = "sep=";
  if (text.starts_with(says) && text.size() > says.size()) return text[says.size()];
  constexpr std::array candidates = {';', '\t', ',', '|'};
  char best = ',';
  std::size_t best_score = 0;
  for (const char candidate : candidates) {
    std::map<std::size_t, std::size_t> lines_with;
    for (const std::size_t count : counts_of(text, candidate)) {
      if (count > 0) ++lines_with[count];
    }
    std::size_t alike = 0;
    for (const auto& [count, lines] : lines_with)
      alike = std::max(alike, lines * 100 + std::min<std::size_t>(count, 50));
    if (alike > best_score) {
      best = candidate;
      best_score = alike;
    }
  }
  return best;
}

Table read_csv(const std::string& path, std::string_view bytes) {
  Decoded text;
  try {
    text = decoded(bytes);
  } catch (const std::runtime_error& error) {
    throw Unusable{fmt::format("{}: {}", path, error.what())};
  }
  const char separator = separator_of(text.text);
  Reading reading;
  const std::string_view content = without_mark(text.text);
  if (content.size() != text.text.size())
    reading.table.rows.emplace_back();  // so that rows keep their numbers
  const bool closed = Parser{separator}.parse(content, reading);
  if (!closed) {
    throw Unusable{tr("{}: {}: a quotation mark begins here that is never closed", path,
                      cell_name(reading.table.rows.size(), reading.row.size()))};
  }
  if (!reading.refusal.empty()) throw Unusable{fmt::format("{}: {}", path, reading.refusal)};
  reading.table.path = path;
  reading.table.format = tr("{}, separated by {}", text.encoding, separator_name(separator));
  return std::move(reading.table);
}

std::string csv_line(std::span<const std::string> cells) {
  std::string line;
  for (const std::string& text : cells) {
    std::string cell = text;
    if (is_taken_for_formula(cell)) cell.insert(0, "'");
    if (&text != &cells.front()) line += ',';
    if (cell.find_first_of(",;\"\r\n") == std::string::npos) {
      line += cell;
      continue;
    }
    std::string quoted(2 * cell.size() + 2, '\0');
    quoted.resize(csv_write(quoted.data(), quoted.size(), cell.data(), cell.size()));
    line += quoted;
  }
  return line + "\r\n";
}

}  // namespace drybus::tools
