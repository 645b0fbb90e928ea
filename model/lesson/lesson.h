// A lesson: a story that stops where the class is asked something, and what counts as right there. What is right is never
// written down: it is a condition that the world at the stop is held against, so that no lesson can be right by its words.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "model/people/script.h"
#include "sim/enumeration.h"

namespace drybus::model {

/// Where the story stops. At a note the installer stands before whatever comes next, even at the same moment.
struct LessonStop {
  enum class Kind : std::uint8_t { start, note, time, end };
  Kind kind = Kind::start;
  std::uint32_t step = 0;  ///< note: its index in the installer's script
  sim::Instant at{};       ///< time: all that is due by then has happened
  friend bool operator==(const LessonStop&, const LessonStop&) = default;
};

/// What is asked for.
BOOST_DEFINE_FIXED_ENUM_CLASS(QuestionKind, std::uint8_t, choice, place, device, number, press)

/// "choice"
std::string_view to_string(QuestionKind kind);

/// Checks that all hold together; one of findings holds when those that it names were found by then.
using LessonCondition = std::vector<Check>;

struct LessonOption {
  std::string says;
  LessonCondition right_if;
};

/// What makes a device the one that is asked for: each of these facts, in the words of the output.
struct Quality {
  std::vector<std::pair<Fact, std::string>> facts;
};

/// A number that is asked for.
struct Measure {
  enum class Kind : std::uint8_t {
    fact,       ///< a device's channel, site or zone; load and level in percent
    count,      ///< how many devices have the quality
    time_left,  ///< until the device's time-out, in seconds
  };
  Kind kind = Kind::fact;
  DeviceId device = no_device;
  Fact fact = Fact::channel;
  Quality quality;
  double tolerance = 0;  ///< so much off is still right
};

struct LessonQuestion {
  LessonStop stop;
  std::string ask;
  QuestionKind kind = QuestionKind::choice;
  std::vector<LessonOption> options;  ///< choice
  Quality quality;                    ///< device; place: of a device there
  Measure measure;                    ///< number
  LessonCondition goal;               ///< press: so it shall be in the end
  sim::Duration within{};             ///< press: on the run's clock
  std::vector<Step> way;              ///< press: one way to get there; empty: the rest of the story
  std::vector<std::string> hints;     ///< in the order in which they are given
  std::vector<std::pair<DeviceId, Fact>> uncovers;  ///< of what is hidden, once the question is over
  std::string because;                              ///< told then
  SourceMark mark;
};

struct Lesson {
  std::string title;
  std::string about;
  std::uint32_t tries = 2;  ///< for each question, before the answer is told
  Scenario scenario;
  std::vector<LessonQuestion> questions;  ///< in the order of the story
};

}  // namespace drybus::model
