// drybus switches: how a site or zone number stands on a plate's switches, and which number some switches
// show.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <charconv>
#include <filesystem>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/command.h"
#include "tools/options/command_line.h"
#include "tools/script/reader.h"
#include "tools/view/sheet_switches.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

model::Family family_named(const std::string& name) {
  const auto file = find_family(name, std::filesystem::current_path() / "scenarios");
  if (!file) throw Unusable{tr("--family {}: there is no such family", name)};
  auto reading = read_family(*file);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value().family);
}

model::SwitchBank bank_of(const model::Family& family, const std::string& which) {
  if (which == "site") return family.plate.site_switches;
  if (which == "zone") return family.plate.zone_switches;
  const std::vector<std::string> known{"site", "zone"};
  throw Unusable{tr("--bank {}: expected site or zone.{}", which, did_you_mean(which, known))};
}

std::optional<unsigned> whole(std::string_view text) {
  unsigned number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return number;
}

/// A number, or the switches as binary is written. No number that fits is as long as its bank, but for a
/// leading zero.
std::uint8_t number_from(const std::string& word, const model::SwitchBank& bank) {
  if (const auto pattern = model::parse_pattern(bank, word)) return *pattern;
  const auto number = whole(word);
  if (number && *number <= bank.largest()) return static_cast<std::uint8_t>(*number);
  const bool binary = bank.kind == model::SwitchBank::Kind::binary;
  const std::string pattern = binary ? tr(", or {} digits 0 and 1 with switch 1 last", bank.count) : "";
  if (number)
    throw Unusable{
        tr("'{}' cannot be set on these switches: expected 0 to {}{}", word, bank.largest(), pattern)};
  throw Unusable{tr("'{}' is no number: expected 0 to {}{}", word, bank.largest(), pattern)};
}

/// "1,4,6": the switches that are up.
std::uint8_t number_from_up(const std::string& list, const model::SwitchBank& bank) {
  if (bank.kind != model::SwitchBank::Kind::binary)
    throw Unusable{tr("--up: this family has dials, not switches")};
  std::vector<std::uint8_t> shown(bank.count, 0);
  for (std::size_t begin = 0; begin <= list.size();) {
    const std::size_t end = std::min(list.find(',', begin), list.size());
    const std::string word = list.substr(begin, end - begin);
    const auto number = whole(word);
    if (!number || *number < 1 || *number > bank.count) {
      throw Unusable{
          tr("--up {}: '{}' is no switch: expected 1 to {}, with commas between", list, word, bank.count)};
    }
    shown[*number - 1] = 1;
    begin = end + 1;
  }
  const auto number = model::number_shown(bank, shown);
  if (!number) throw Unusable{tr("--up {}: that is more than 255", list)};
  return *number;
}

std::string sum_text(const std::vector<std::uint8_t>& shown, std::uint8_t number) {
  std::string sum;
  for (std::size_t i = 0; i < shown.size(); ++i) {
    if (shown[i] == 1) sum += fmt::format("{}{}", sum.empty() ? "" : " + ", 1u << i);
  }
  return sum.empty() ? "0" : fmt::format("{} = {}", sum, number);
}

std::string as_text(const model::Family& family, const std::string& which, const model::SwitchBank& bank,
                    std::uint8_t number) {
  const std::string stands = model::switches_text(bank, number);
  std::string text = (which == "site" ? tr("site {} on {}: {}", number, family.name, stands)
                                      : tr("zone {} on {}: {}", number, family.name, stands)) +
                     "\n\n" + switch_drawing(bank, number);
  if (bank.kind != model::SwitchBank::Kind::binary) return text;
  text += tr("\n  {} in binary, switch 1 last: {}\n", model::pattern_text(bank, number),
             sum_text(model::positions(bank, number), number));
  std::vector<std::uint8_t> turned = model::positions(bank, number);
  std::reverse(turned.begin(), turned.end());
  const auto other = model::number_shown(bank, turned);
  if (other && *other != number) text += tr("  counted from the wrong end this would be {}\n", *other);
  return text;
}

json::object as_json(const model::Family& family, const std::string& which, const model::SwitchBank& bank,
                     std::uint8_t number) {
  const bool binary = bank.kind == model::SwitchBank::Kind::binary;
  json::array switches;
  for (const std::uint8_t position : model::positions(bank, number)) {
    switches.push_back(binary ? json::value(position == 1) : json::value(position));
  }
  return {{"family", family.name},
          {"bank", which},
          {"number", number},
          {"kind", binary ? "switches" : "dials"},
          {"positions", std::move(switches)},
          {"text", model::switches_text(bank, number)}};
}

}  // namespace

int switches_command(Arguments arguments) {
  CommandLine line{"drybus switches NUMBER|PATTERN... [options]"};
  line.add()("family", po::value<std::string>()->default_value("wired-keypad"), msg("whose plates").data());
  line.add()("bank", po::value<std::string>()->default_value("site"), msg("site or zone").data());
  line.add()("up", po::value<std::string>(),
             msg("the switches that are up, such as 1,4,6: which number do they show?").data());
  line.offer_json();
  line.take_words("NUMBER", 0, 64);
  if (!line.parse(arguments)) return exit_fine;
  const bool wants_json = line.json_wanted();
  const model::Family family = family_named(line.text("family"));
  const std::string which = line.text("bank");
  const model::SwitchBank bank = bank_of(family, which);

  std::vector<std::uint8_t> numbers;
  for (const std::string& word : line.words()) numbers.push_back(number_from(word, bank));
  if (line.has("up")) numbers.push_back(number_from_up(line.text("up"), bank));
  if (numbers.empty()) {
    throw Unusable{tr("NUMBER is missing: a number such as 41, a pattern such as 101001, or --up 1,4,6")};
  }
  std::string text;
  json::array all;
  for (const std::uint8_t number : numbers) {
    if (!text.empty()) text += "\n";
    text += as_text(family, which, bank, number);
    all.push_back(as_json(family, which, bank, number));
  }
  print_out(wants_json ? json_text(all.size() == 1 ? all[0] : json::value{all}) + "\n" : text);
  return exit_fine;
}

}  // namespace drybus::tools
