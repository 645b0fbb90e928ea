#include "model/call/words.h"

#include <fmt/format.h>

#include <utility>

#include "model/diagnosis/unchanged.h"

namespace drybus::model {

namespace {

/// A lamp's pattern as a verb, and as a question.
struct LampWords {
  std::string_view what;
  std::string_view does;
  std::string_view ask;
};
constexpr sim::ByEnum<Pattern, LampWords> lamp_words{
    LampWords{"dark", "is dark", "is {} dark"},
    LampWords{"blip", "blips", "does {} blip"},
    LampWords{"breathe", "breathes", "does {} breathe, slowly brighter and darker"},
    LampWords{"blink", "blinks", "does {} blink"},
    LampWords{"steady", "is steady", "is {} steady"},
    LampWords{"refuse", "shows that it refuses", "does {} show that it refuses"}};

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
  return site.places.size() < 2 ? std::string{} : fmt::format("In the {}, ", site.places[place].name);
}

std::string lamp_does(std::string_view what) {
  const LampWords* words = words_of(what);
  return words != nullptr ? std::string{words->does} : fmt::format("shows {}", what);
}

std::string lamp_question(std::string_view whose, std::string_view what) {
  const LampWords* words = words_of(what);
  return words != nullptr ? fmt::format(fmt::runtime(words->ask), whose)
                          : fmt::format("does {} show {}", whose, what);
}

std::string load_is(std::string_view what) {
  if (what == "lit") return "on";
  if (what == "dark") return "off";
  if (what == as_it_was) return std::string{what};
  return fmt::format("at {}", what);
}

std::string said(const Site& site, const Seen& seen) {
  const std::string name = called(site, seen.device);
  if (seen.fact == Fact::indicator) return fmt::format("the lamp of {} {}", name, lamp_does(seen.what));
  return fmt::format("{} is {}", name, load_is(seen.what));
}

}  // namespace drybus::model
