#include "model/call/words.h"

#include <fmt/format.h>

#include <cctype>
#include <utility>

#include "model/diagnosis/unchanged.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// A lamp's pattern as a verb, and as a question.
struct LampWords {
  std::string_view what;
  std::string_view does;
  std::string_view ask;
};
constexpr sim::ByEnum<Pattern, LampWords> lamp_words{
    LampWords{"dark", msg("is dark"), msg("is {} dark")},
    LampWords{"blip", msg("blips"), msg("does {} blip")},
    LampWords{"breathe", msg("breathes"), msg("does {} breathe, slowly brighter and darker")},
    LampWords{"blink", msg("blinks"), msg("does {} blink")},
    LampWords{"steady", msg("is steady"), msg("is {} steady")},
    LampWords{"refuse", msg("shows that it refuses"), msg("does {} show that it refuses")}};

const LampWords* words_of(std::string_view what) {
  for (const LampWords& each : lamp_words) {
    if (each.what == what) return &each;
  }
  return nullptr;
}

}  // namespace

std::string called(const Site& site, DeviceId device) {
  const std::string& title = site.title(device);
  for (DeviceId other = 0; other < site.device_count(); ++other) {
    if (other != device && site.title(other) == title)
      return fmt::format("{} ({})", title, site.name(device));
  }
  return title;
}

std::string in_place(const Site& site, PlaceId place) {
  return site.places.size() < 2 ? std::string{} : tr("In the {}, ", site.places[place].name);
}

std::string done_in(const Site& site, PlaceId place, const std::string& what) {
  const std::string in = in_place(site, place);
  std::string text = in + what;
  if (in.empty()) text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
  return text;
}

std::string setup_gesture_text(const Site& site, DeviceId plate) {
  std::string text = buttons_text(site, plate, site.plate_family(plate).setup_gesture);
  text.erase(0, site.name(plate).size() + 1);
  const std::size_t plus = text.find('+');
  return plus == std::string::npos ? text
                                   : tr("{} and {} together", text.substr(0, plus), text.substr(plus + 1));
}

std::string lamp_does(std::string_view what) {
  const LampWords* words = words_of(what);
  return words != nullptr ? std::string{in_words_spoken(words->does)} : tr("shows {}", what);
}

std::string lamp_question(std::string_view whose, std::string_view what) {
  const LampWords* words = words_of(what);
  return words != nullptr ? fmt::format(fmt::runtime(in_words_spoken(words->ask)), whose)
                          : tr("does {} show {}", whose, what);
}

std::string load_is(std::string_view what) {
  if (what == "lit") return tr_as("load", "on");
  if (what == "dark") return tr_as("load", "off");
  if (what == as_it_was) return std::string{in_words_spoken(what)};
  return fmt::format(fmt::runtime(tr_as("load", "at {}")), with_decimal_mark(std::string{what}));
}

std::string said(const Site& site, const Seen& seen) {
  const std::string name = called(site, seen.device);
  if (seen.fact == Fact::indicator) return tr("the lamp of {} {}", name, lamp_does(seen.what));
  return tr("{} is {}", name, load_is(seen.what));
}

}  // namespace drybus::model
