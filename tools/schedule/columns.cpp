#include "tools/schedule/columns.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/algorithm/string.hpp>
#include <set>

#include "model/family/address.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/base/wrap.h"
#include "tools/schedule/entries.h"

namespace drybus::tools {

using model::tr;

namespace {

struct Word {
  std::string_view text;
  Meaning meaning;
};

/// Words of headings. A longer one that fits counts before a shorter one.
constexpr Word heading_words[] = {
    {"room", Meaning::room},
    {"room name", Meaning::room},
    {"place", Meaning::room},
    {"location", Meaning::room},
    {"area", Meaning::room},
    {"space", Meaning::room},
    {"floor", Meaning::floor},
    {"storey", Meaning::floor},
    {"level", Meaning::floor},
    {"circuit", Meaning::circuit},
    {"circuit name", Meaning::circuit},
    {"circuit description", Meaning::circuit},
    {"description", Meaning::circuit},
    {"lighting", Meaning::circuit},
    {"lights", Meaning::circuit},
    {"luminaire", Meaning::circuit},
    {"luminaires", Meaning::circuit},
    {"lamp", Meaning::circuit},
    {"fitting", Meaning::circuit},
    {"label", Meaning::circuit},
    {"name", Meaning::circuit},
    {"module", Meaning::module},
    {"dimmer", Meaning::module},
    {"dimmer module", Meaning::module},
    {"circuit no", Meaning::module},
    {"circuit number", Meaning::module},
    {"plate", Meaning::plate},
    {"wall plate", Meaning::plate},
    {"switch", Meaning::plate},
    {"keypad", Meaning::plate},
    {"control point", Meaning::plate},
    {"controlled by", Meaning::plate},
    {"switched by", Meaning::plate},
    {"operated by", Meaning::plate},
    {"load", Meaning::load},
    {"load w", Meaning::load},
    {"load watts", Meaning::load},
    {"load kw", Meaning::load},
    {"watt", Meaning::load},
    {"watts", Meaning::load},
    {"wattage", Meaning::load},
    {"w", Meaning::load},
    {"power", Meaning::load},
    {"power w", Meaning::load},
    {"dimming", Meaning::dimming},
    {"dimming method", Meaning::dimming},
    {"dimming type", Meaning::dimming},
    {"load type", Meaning::dimming},
    {"method", Meaning::dimming},
    {"site", Meaning::site},
    {"site number", Meaning::site},
    {"site no", Meaning::site},
    {"zone", Meaning::zone},
    {"zone number", Meaning::zone},
    {"zone no", Meaning::zone},
    {"channel", Meaning::channel},
    {"channel number", Meaning::channel},
    {"channel no", Meaning::channel},
    {"ch", Meaning::channel},
    {"address", Meaning::address},
    {"do not switch", Meaning::do_not_switch},
    {"not to be switched", Meaning::do_not_switch},
    {"must stay on", Meaning::do_not_switch},
    {"keep on", Meaning::do_not_switch},
    {"remark", Meaning::nothing},
    {"remarks", Meaning::nothing},
    {"note", Meaning::nothing},
    {"notes", Meaning::nothing},
    {"comment", Meaning::nothing},
    {"quantity", Meaning::nothing},
};

/// Lower case, words with one blank between, nothing else.
std::string plain(std::string_view heading) {
  std::string words;
  for (const char c : heading) {
    const bool letter =
        (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80;
    if (letter) {
      words += c;
    } else if (c >= 'A' && c <= 'Z') {
      words += static_cast<char>(c - 'A' + 'a');
    } else if (!words.empty() && words.back() != ' ') {
      words += ' ';
    }
  }
  while (!words.empty() && words.back() == ' ') words.pop_back();
  return words;
}

/// How well a heading fits, 0 to 100, and what it says then.
struct Fit {
  int points = 0;
  Meaning meaning = Meaning::nothing;
};

Fit fit_of(std::string_view heading) {
  const std::string words = plain(heading);
  if (words.empty() || words.size() > 60) return {};
  Fit best;
  for (const Word& word : heading_words) {
    int points = 0;
    if (words == word.text) {
      points = 100;
    } else if ((" " + words + " ").find(" " + std::string{word.text} + " ") != std::string::npos) {
      points = 40 + static_cast<int>(std::min<std::size_t>(word.text.size(), 40));
    }
    if (points > best.points) best = {points, word.meaning};
  }
  return best;
}

/// What the cells below say of a column.
struct Content {
  std::size_t filled = 0;
  std::size_t powers = 0;  ///< numbers with or without a unit of power
  std::size_t addresses = 0;
  std::size_t codes = 0;  ///< short marks with a number in them: C1, L12a
  std::set<std::string> distinct;
};

class Guess {
 public:
  Guess(const Table& table, const ToldColumns& told) : table_(table), told_(told) {}

  Layout make() {
    layout_.columns.resize(table_.column_count());
    if (told_.empty() && take_ours()) return std::move(layout_);
    find_heading();
    known_heading_ = layout_.has_heading;
    find_unknown_heading();
    take_told();
    take_headings();
    take_contents();
    if (!layout_.column(Meaning::circuit)) {
      throw Unusable{tr("{}: no column holds the circuits\n{}say which one: --columns circuit=B", table_.path,
                        layout_text(table_, layout_))};
    }
    return std::move(layout_);
  }

 private:
  static constexpr std::size_t rows_looked_at = 40;

  /// A sheet that we have written says all that there is to say.
  bool take_ours() {
    const auto ours = written_columns();
    if (table_.rows.empty() || layout_.columns.size() != ours.size()) return false;
    const bool fits =
        std::equal(ours.begin(), ours.end(), table_.rows.front().begin(), table_.rows.front().end(),
                   [](const WrittenColumn& column, const Cell& cell) { return cell.text == column.heading; });
    if (!fits) return false;
    for (std::size_t column = 0; column < ours.size(); ++column) {
      layout_.columns[column].heading = ours[column].heading;
      take(column, ours[column].meaning, tr("its heading"));
    }
    layout_.first_row = 1;
    layout_.has_heading = layout_.is_ours = true;
    return true;
  }

  // --- headings ---

  /// What stands over a column in these rows; a cell without text belongs to the merged one left of it, as long as
  /// something stands below.
  [[nodiscard]] std::string heading(std::size_t first, std::size_t rows, std::size_t column) const {
    std::string text;
    for (std::size_t row = first; row < first + rows; ++row) {
      std::size_t from = column;
      const bool more_below = row + 1 < first + rows && !table_.at(row + 1, column).text.empty();
      while (from > 0 && table_.at(row, from).text.empty() && more_below) --from;
      const std::string& part = table_.at(row, from).text;
      if (!part.empty()) text += (text.empty() ? "" : " ") + part;
    }
    return text;
  }

  [[nodiscard]] int points_of(std::size_t first, std::size_t rows) const {
    int points = 0;
    std::set<Meaning> said;
    for (std::size_t column = 0; column < layout_.columns.size(); ++column) {
      const Fit fit = fit_of(heading(first, rows, column));
      if (fit.points >= 40 && fit.meaning != Meaning::nothing && said.insert(fit.meaning).second)
        points += fit.points;
    }
    return said.size() >= 2 || layout_.columns.size() == 1 ? points : 0;
  }

  /// Whether a row could be the second one of a heading: words, and no number among them.
  [[nodiscard]] bool has_entries(std::size_t row) const {
    return std::any_of(table_.rows[row].begin(), table_.rows[row].end(), [](const Cell& cell) {
      return !cell.text.empty() && parse_load(cell.text).watts.has_value();
    });
  }

  void find_heading() {
    int best = 0;
    const std::size_t last = std::min(rows_looked_at, table_.rows.size());
    for (std::size_t row = 0; row < last; ++row) {
      for (const std::size_t rows : {std::size_t{1}, std::size_t{2}}) {
        if (row + rows > table_.rows.size() || (rows == 2 && has_entries(row + 1))) continue;
        // A second row has to be worth it.
        const int points = points_of(row, rows) - (rows == 2 ? 15 : 0);
        if (points <= best) continue;
        best = points;
        layout_.has_heading = true;
        layout_.first_row = row + rows;
        for (std::size_t column = 0; column < layout_.columns.size(); ++column)
          layout_.columns[column].heading = heading(row, rows, column);
      }
    }
  }

  /// A first row of words over a column of numbers is a heading, whatever it says.
  void find_unknown_heading() {
    if (layout_.has_heading) return;
    std::size_t first = 0;
    while (first < table_.rows.size() && row_is_empty(first)) ++first;
    if (first + 1 >= table_.rows.size() || has_entries(first)) return;
    layout_.first_row = first + 1;
    for (std::size_t column = 0; column < layout_.columns.size(); ++column) {
      const Content content = content_of(column);
      if (content.filled == 0 || content.powers != content.filled || table_.at(first, column).text.empty())
        continue;
      layout_.has_heading = true;
    }
    for (std::size_t column = 0; layout_.has_heading && column < layout_.columns.size(); ++column)
      layout_.columns[column].heading = table_.at(first, column).text;
    if (!layout_.has_heading) layout_.first_row = 0;
  }

  [[nodiscard]] bool row_is_empty(std::size_t row) const {
    return std::all_of(table_.rows[row].begin(), table_.rows[row].end(),
                       [](const Cell& cell) { return cell.text.empty(); });
  }

  // --- what is told ---

  [[nodiscard]] std::size_t column_called(const std::string& name) const {
    std::vector<std::string> names;
    for (std::size_t column = 0; column < layout_.columns.size(); ++column) {
      const std::string& said = layout_.columns[column].heading;
      if (boost::iequals(name, column_name(column)) || (!said.empty() && plain(said) == plain(name)))
        return column;
      names.push_back(column_name(column));
      if (!said.empty()) names.push_back(said);
    }
    throw Unusable{tr("{}: no column is called '{}': expected {}.{}", table_.path, name, one_of(names),
                      did_you_mean(name, names))};
  }

  void take_told() {
    for (const auto& [meaning, name] : told_) {
      taken_.insert(meaning);
      if (name == "none") continue;
      const std::size_t column = column_called(name);
      if (!layout_.columns[column].why.empty()) {
        throw Unusable{tr("--columns: column {} is said to hold two things, {} and {}", column_name(column),
                          to_string(layout_.columns[column].meaning), to_string(meaning))};
      }
      take(column, meaning, tr("as told"));
    }
  }

  void take(std::size_t column, Meaning meaning, std::string why) {
    layout_.columns[column].meaning = meaning;
    layout_.columns[column].why = std::move(why);
    taken_.insert(meaning);
  }
  [[nodiscard]] bool is_free(std::size_t column) const { return layout_.columns[column].why.empty(); }

  // --- headings and contents ---

  /// The best fit first; "Load" over words is what hangs there, over numbers how much it takes. Where the circuits have
  /// a column already, words under the only "Load" are powers that cannot be read.
  void take_headings() {
    if (!layout_.has_heading) return;
    std::vector<std::size_t> loads_in_words;
    std::vector<std::pair<int, std::size_t>> order;
    for (std::size_t column = 0; column < layout_.columns.size(); ++column)
      order.emplace_back(-fit_of(layout_.columns[column].heading).points, column);
    std::sort(order.begin(), order.end());
    for (const auto& [points, column] : order) {
      if (points == 0 || !is_free(column)) continue;
      Meaning meaning = fit_of(layout_.columns[column].heading).meaning;
      const Content content = content_of(column);
      if (meaning == Meaning::load && 2 * content.powers < content.filled) {
        loads_in_words.push_back(column);
        meaning = Meaning::circuit;
      }
      const bool numbered = content.powers == content.filled;
      const bool coded = content.codes == content.filled && another_says_circuit(column);
      if (meaning == Meaning::circuit && content.filled > 0 && (numbered || coded)) meaning = Meaning::module;
      if (meaning != Meaning::nothing && !taken_.contains(meaning)) take(column, meaning, tr("its heading"));
    }
    for (const std::size_t column : loads_in_words) {
      if (is_free(column) && !taken_.contains(Meaning::load)) take(column, Meaning::load, tr("its heading"));
    }
  }

  static bool is_code(const std::string& text) {
    constexpr std::size_t longest_code = 5;
    const auto in = [&text](std::string_view some) { return text.find_first_of(some) != std::string::npos; };
    return text.size() <= longest_code && in("0123456789") && text.find(' ') == std::string::npos;
  }

  /// Words elsewhere say what the circuit is, so that marks are what the module is called.
  [[nodiscard]] bool another_says_circuit(std::size_t column) const {
    for (std::size_t other = 0; other < layout_.columns.size(); ++other) {
      if (other == column || !is_free(other) ||
          fit_of(layout_.columns[other].heading).meaning != Meaning::circuit)
        continue;
      const Content content = content_of(other);
      if (content.filled > 0 && content.codes < content.filled && content.powers < content.filled)
        return true;
    }
    return false;
  }

  [[nodiscard]] Content content_of(std::size_t column) const {
    constexpr std::size_t enough = 200;
    Content content;
    for (std::size_t row = layout_.first_row; row < table_.rows.size() && content.filled < enough; ++row) {
      const std::string& text = table_.at(row, column).text;
      if (text.empty()) continue;
      ++content.filled;
      content.powers += parse_load(text).watts ? 1u : 0u;
      content.addresses += model::parse_address(text) ? 1u : 0u;
      content.codes += is_code(text) ? 1u : 0u;
      content.distinct.insert(text);
    }
    return content;
  }

  /// For what no heading says. Columns whose heading says something else stay as they are.
  void take_contents() {
    std::optional<std::size_t> most_distinct, least_distinct, loads;
    std::size_t most = 0, least = SIZE_MAX;
    for (std::size_t column = 0; column < layout_.columns.size(); ++column) {
      if (!is_free(column) || fit_of(layout_.columns[column].heading).points > 0) continue;
      const Content content = content_of(column);
      if (content.filled < 1) continue;
      if (content.addresses == content.filled) {
        if (!taken_.contains(Meaning::address)) take(column, Meaning::address, tr("what stands below it"));
        continue;
      }
      if (content.powers == content.filled) {
        if (!loads) loads = column;
        continue;
      }
      if (content.distinct.size() > most) most = content.distinct.size(), most_distinct = column;
      if (content.distinct.size() < least) least = content.distinct.size(), least_distinct = column;
    }
    if (!known_heading_ && loads && !taken_.contains(Meaning::load))
      take(*loads, Meaning::load, tr("what stands below it"));
    if (known_heading_ && layout_.column(Meaning::circuit)) return;
    if (most_distinct && !taken_.contains(Meaning::circuit))
      take(*most_distinct, Meaning::circuit, tr("what stands below it"));
    if (least_distinct && least_distinct != most_distinct && least < most && !taken_.contains(Meaning::room))
      take(*least_distinct, Meaning::room, tr("what stands below it"));
  }

  const Table& table_;
  const ToldColumns& told_;
  Layout layout_;
  std::set<Meaning> taken_;
  bool known_heading_ = false;  ///< its words say what stands below
};

}  // namespace

std::span<const WrittenColumn> written_columns() {
  static constexpr std::array<WrittenColumn, 10> columns = {{{"Room", Meaning::room},
                                                             {"Circuit", Meaning::circuit},
                                                             {"Module", Meaning::module},
                                                             {"Plate", Meaning::plate},
                                                             {"Load W", Meaning::load},
                                                             {"Dimming", Meaning::dimming},
                                                             {"Site", Meaning::site},
                                                             {"Zone", Meaning::zone},
                                                             {"Channel", Meaning::channel},
                                                             {"Do not switch", Meaning::do_not_switch}}};
  return columns;
}

std::string_view to_string(Meaning meaning) {
  static constexpr sim::ByEnum<Meaning, std::string_view> names{
      "room", "floor", "circuit", "module",  "plate",         "load",   "dimming",
      "site", "zone",  "channel", "address", "do-not-switch", "nothing"};
  return names[meaning];
}

std::optional<std::size_t> Layout::column(Meaning meaning) const {
  for (std::size_t column = 0; column < columns.size(); ++column) {
    if (columns[column].meaning == meaning && !columns[column].why.empty()) return column;
  }
  return std::nullopt;
}

ToldColumns parse_told_columns(std::string_view text) {
  ToldColumns told;
  std::vector<std::string> parts;
  boost::split(parts, text, boost::is_any_of(","));
  std::vector<std::string> names;
  for (const Meaning meaning : sim::all_of<Meaning>()) {
    if (meaning != Meaning::nothing) names.emplace_back(to_string(meaning));
  }
  for (const std::string& part : parts) {
    const auto equals = part.find('=');
    const std::string what = boost::trim_copy(part.substr(0, equals));
    const std::string column = equals == std::string::npos ? "" : boost::trim_copy(part.substr(equals + 1));
    const auto found = std::find(names.begin(), names.end(), what);
    if (found == names.end() || column.empty()) {
      throw Unusable{
          tr("--columns: '{}' is not such as room=A, circuit=Name or load=none; what a column holds "
             "is {}.{}",
             part, one_of(names), did_you_mean(what, names))};
    }
    const auto meaning = static_cast<Meaning>(found - names.begin());
    if (std::any_of(told.begin(), told.end(), [meaning](const auto& each) { return each.first == meaning; }))
      throw Unusable{tr("--columns: {} is said twice", what)};
    told.emplace_back(meaning, column);
  }
  return told;
}

Layout guess_layout(const Table& table, const ToldColumns& told) {
  return Guess{table, told}.make();
}

std::string layout_text(const Table& table, const Layout& layout) {
  std::string text;
  std::size_t width = 7;
  for (const ColumnUse& use : layout.columns)
    width = std::max(width, std::min<std::size_t>(columns(use.heading), 30));
  for (std::size_t column = 0; column < layout.columns.size(); ++column) {
    const ColumnUse& use = layout.columns[column];
    std::string sample;
    for (std::size_t row = layout.first_row; row < table.rows.size() && sample.empty(); ++row)
      sample = table.at(row, column).text;
    if (use.heading.empty() && sample.empty()) continue;
    const bool used = !use.why.empty();
    text += fmt::format("  {:<2} {}  {:<13} {}\n", column_name(column),
                        padded(use.heading.empty() ? tr("(none)") : use.heading, width),
                        used ? to_string(use.meaning) : model::in_words_spoken(model::msg("not used")),
                        used ? tr("by {}", use.why) : tr("such as '{}'", sample));
  }
  return text;
}

}  // namespace drybus::tools
