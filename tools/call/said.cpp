#include "tools/call/said.h"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>

#include "model/call/words.h"
#include "model/words/words.h"
#include "tools/script/fact_value.h"
#include "tools/script/site_index.h"
#include "tools/script/told_words.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::Fact;
using model::Seen;
using model::tr;

namespace {

constexpr std::string_view how_to_say =
    model::msg("a device and what it shows, such as 'M1 blinks', 'M1 is on' or 'the lamp of M1 is dark'");

/// Words that say nothing by themselves.
bool is_filler(std::string_view word) {
  constexpr std::array fillers = {"is", "are", "its", "the", "load", "shows", "at", "now", "does"};
  return std::find(fillers.begin(), fillers.end(), word) != fillers.end();
}

QuantityError saying_not_understood(const std::string& sentence) {
  return {tr("'{}' is not understood", sentence), std::string{model::in_words_spoken(how_to_say)}, {}};
}

/// What an observation is of, when a word says so: "blinks" can only be a lamp's.
bool is_of_a_lamp(const std::string& word) {
  const std::string told = told_value(Fact::indicator, word);
  return told == "blink" || told == "blip" || told == "breathe" || told == "refuse";
}

/// "its lamp is dark", "it is off": of what somebody was asked to look at. Nothing for any other sentence.
std::optional<Quantity<Seen>> parse_pronoun(const model::Site& site, const std::string& sentence,
                                            const Seen& asked) {
  const auto parts = words::split(sentence);
  if (parts.size() < 2 || (parts[0].text != "its" && parts[0].text != "it")) return std::nullopt;
  const bool lamp = parts[1].text == "lamp";
  if (parts[0].text == "its" && !lamp) return std::nullopt;
  std::string word;
  for (std::size_t i = lamp ? 2 : 1; i < parts.size(); ++i) {
    if (!is_filler(parts[i].text)) word += (word.empty() ? "" : " ") + std::string{parts[i].text};
  }
  Seen seen;
  seen.device = asked.device;
  seen.fact = lamp || site.is_plate(asked.device) || is_of_a_lamp(word) ? Fact::indicator : Fact::load;
  const auto what = parse_fact_value(site, asked.device, seen.fact, told_value(seen.fact, word));
  if (!what) return Quantity<Seen>{what.error()};
  seen.what = *what;
  return Quantity<Seen>{seen};
}

/// Who is asked about a lamp and says that the device is dark or steady speaks of the lamp.
bool answers_of_the_lamp(const Seen* asked, model::DeviceId device, std::string_view word) {
  return asked != nullptr && asked->device == device && asked->fact == Fact::indicator &&
         (word == "dark" || word == "steady");
}

}  // namespace

Quantity<Seen> parse_said(const model::Site& site, const std::string& sentence, const Seen* asked) {
  if (asked != nullptr) {
    if (auto of_it = parse_pronoun(site, sentence, *asked)) return *of_it;
  }
  Complaints complaints;
  const Place place{{complaints.add_source({tr("the answer"), sentence}), 1, 1}, 1};
  const SiteIndex index{site, complaints, true};
  std::string_view rest = sentence;
  bool lamp = false;
  for (const std::string_view before : {"the lamp of ", "lamp of "}) {
    if (!rest.starts_with(before)) continue;
    rest.remove_prefix(before.size());
    lamp = true;
  }
  const std::size_t named = index.device_name_in(rest);
  if (named == 0) return saying_not_understood(sentence);
  std::string_view name = rest.substr(0, named);
  name.remove_prefix(std::min(name.find_first_not_of(" \t"), name.size()));
  const auto device = index.device(place, name);
  if (!device) {
    const Problem problem = complaints.sorted().front();
    return QuantityError{problem.message, problem.expected, problem.suggestion};
  }
  std::string word;
  for (const words::Part& part : words::split(rest.substr(named))) {
    if (part.text == "lamp") {
      lamp = true;
    } else if (!is_filler(part.text)) {
      word += (word.empty() ? "" : " ") + std::string{part.text};
    }
  }
  Seen seen;
  seen.device = *device;
  seen.fact =
      lamp || site.is_plate(*device) || is_of_a_lamp(word) || answers_of_the_lamp(asked, *device, word)
          ? Fact::indicator
          : Fact::load;
  const auto what = parse_fact_value(site, *device, seen.fact, told_value(seen.fact, word));
  if (!what) return what.error();
  seen.what = *what;
  return seen;
}

std::vector<Seen> all_that_shows(const model::Site& site, model::DeviceId device) {
  std::vector<Seen> all;
  const auto add = [&](Fact fact, std::string_view word) {
    if (const auto what = parse_fact_value(site, device, fact, word))
      all.push_back({device, fact, *what, {}, false, {}, false});
  };
  for (const std::string_view pattern : words::patterns()) add(Fact::indicator, pattern);
  if (site.is_plate(device)) return all;
  add(Fact::load, "lit");
  add(Fact::load, "dark");
  return all;
}

std::string shown_by_it(const Seen& seen) {
  return seen.fact == Fact::indicator ? tr("its lamp {}", model::lamp_does(seen.what))
                                      : tr("it is {}", model::load_is(seen.what));
}

}  // namespace drybus::tools
