#include "tools/commands/compare_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <vector>

#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

using model::plural;
using model::tr;

namespace {

namespace json = boost::json;

constexpr std::size_t column_width = 56;
constexpr std::size_t most_told = 8;

std::string text_of(const json::value& value) {
  return json::value_to<std::string>(value);
}

/// Adds a text to a column, broken where it is too long.
void add_to(std::vector<std::string>& column, const std::string& text) {
  const std::size_t first = column.size();
  for (const std::string& line : wrapped(text, column_width - 4)) {
    column.push_back((column.size() == first ? "" : "    ") + line);
  }
}

std::string entry_text(const json::value& entry) {
  std::string text = fmt::format("{}  {}", text_of(entry.at("clock")), text_of(entry.at("text")));
  const json::value* times = entry.as_object().if_contains("times");
  if (times != nullptr && times->to_number<int>() > 1)
    text += tr("; {} times by then", times->to_number<int>());
  return text;
}

std::vector<std::string> column_of(const json::object& parting, const char* side) {
  std::vector<std::string> column;
  const json::value* entries = parting.if_contains(side);
  if (entries == nullptr || entries->is_null()) {
    add_to(column, tr("nothing like it can be seen or heard"));
    return column;
  }
  std::string mark;
  for (const json::value& entry : entries->as_array()) {
    add_to(column, mark + entry_text(entry));
    mark = "< ";
  }
  return column;
}

std::string in_columns(const std::vector<std::string>& left, const std::vector<std::string>& right) {
  std::string text;
  for (std::size_t i = 0; i < std::max(left.size(), right.size()); ++i) {
    const std::string line =
        padded(i < left.size() ? left[i] : "", column_width) + "| " + (i < right.size() ? right[i] : "");
    text += "  " + line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
  }
  return text;
}

std::string both_text(const json::object& parting) {
  const json::value* both = parting.if_contains("both");
  if (both == nullptr) return "";
  std::string text;
  for (const json::value& entry : both->as_array()) {
    const std::string both_mark = tr("  both: < ");
    std::string mark = text.empty() ? both_mark : std::string(both_mark.size() - 2, ' ') + "< ";
    for (const std::string& line : wrapped(entry_text(entry), 2 * column_width)) {
      text += mark + line + "\n";
      mark = std::string(both_mark.size(), ' ');
    }
  }
  return text;
}

/// Two columns: whose they are, what happened, and what led to it; below, what led to both.
std::string side_by_side(const json::object& parting, const CompareNames& names) {
  std::vector<std::string> a;
  std::vector<std::string> b;
  add_to(a, "A: " + names.a);
  add_to(b, "B: " + names.b);
  return in_columns(a, b) + in_columns(column_of(parting, "a"), column_of(parting, "b")) + both_text(parting);
}

/// Which rows of the family's table say what is to be done there.
std::string rows_text(const json::object& outcome) {
  std::string text;
  const json::value* rows = outcome.if_contains("rows");
  if (rows == nullptr) return text;
  for (const json::value& row : rows->as_array()) text += tr("  the family's {}\n", text_of(row));
  return text;
}

/// The differences after the first, in a line each.
std::string others_text(const json::object& outcome) {
  const json::array& differences = outcome.at("differences").as_array();
  const auto in_all = outcome.at("differences_in_all").to_number<std::size_t>();
  std::string text;
  for (std::size_t i = 1; i < std::min(differences.size(), most_told); ++i)
    text += tr("  then  {}\n", text_of(differences[i].at("text")));
  if (in_all > most_told) text += tr("  and {} differences more\n", in_all - most_told);
  return text;
}

std::string known_text(const json::object& outcome) {
  std::string text;
  for (const json::value& each : outcome.at("known").as_array())
    text += tr("      known: {} ({})\n", text_of(each.at("text")), text_of(each.at("reason")));
  return text;
}

std::string hunt_text(const json::object& hunt, const CompareNames& names) {
  const auto tried =
      tr("{} moves tried, {} pairs of states, {} deep", hunt.at("moves_tried").to_number<std::uint64_t>(),
         hunt.at("states").to_number<std::uint64_t>(), hunt.at("depth").to_number<std::uint64_t>());
  if (!hunt.at("found").as_bool()) return fmt::format("      {} ({})\n", text_of(hunt.at("end")), tried);
  const json::array& steps = hunt.at("steps").as_array();
  std::string text = plural("      {} more move tells them apart ({}):\n",
                            "      {} more moves tell them apart ({}):\n", steps.size(), steps.size(), tried);
  for (std::size_t i = 0; i < steps.size(); ++i)
    text += fmt::format("        {}. {}\n", i + 1, text_of(steps[i]));
  text += side_by_side(hunt.at("parting").as_object(), names);
  if (names.output.empty()) return text;
  return text + tr("      written to {}: {}\n", names.output, text_of(hunt.at("kept")));
}

}  // namespace

std::string compare_text(const json::object& outcome, const CompareNames& names) {
  const std::string path = text_of(outcome.at("scenario"));
  if (!outcome.at("aborted").is_null()) {
    return fmt::format("{} {}\n{}\n", inked(tr("ERROR"), Ink::red), path, text_of(outcome.at("aborted")));
  }
  const std::string alike = tr("{} things seen or heard", outcome.at("alike").to_number<std::uint64_t>());
  if (!outcome.at("same").as_bool()) {
    return tr("{} {}  after {} that are alike\n{}{}{}{}", inked(tr("PART "), Ink::red), path, alike,
              side_by_side(outcome, names), rows_text(outcome), others_text(outcome), known_text(outcome));
  }
  std::string text =
      fmt::format("{} {}  {}\n{}", inked(tr("same "), Ink::green), path, alike, known_text(outcome));
  if (const json::value* hunt = outcome.if_contains("hunt")) text += hunt_text(hunt->as_object(), names);
  return text;
}

}  // namespace drybus::tools
