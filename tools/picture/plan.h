// What a picture has to say and when, and the axis on which that has room.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "tools/picture/axis.h"
#include "tools/picture/picture.h"
#include "tools/timeline/timeline.h"

namespace drybus::tools::picture {

/// What one chapter has to fit.
enum class PageShape : std::uint8_t {
  screen,  ///< 16 : 9
  a4,      ///< landscape, with margins of a centimetre
  letter,  ///< likewise
};

/// A moment that something beside the picture refers to, by what stands in its disc.
struct Stop {
  sim::Instant at{};
  std::string text;
};

struct PictureOptions {
  double width = 1280;  ///< px
  sim::Instant from = sim::start_of_run;
  sim::Instant to = sim::never;        ///< the end of the run where that is earlier
  bool hide_hidden = false;            ///< hidden truth is not even in the file
  std::optional<PageShape> page = {};  ///< none: a screen, or an A4 page where that takes the whole story
  bool compact = false;                ///< lower lanes, smaller words below them
  bool bare = false;                   ///< rows and legend only
  std::vector<Stop> stops = {};        ///< by time; on the first person's lane, in place of all remarks
};

/// Lines of labels of a picture. A track's labels follow each other and never overlap.
class Tracks {
 public:
  Tracks(std::size_t people, std::size_t devices) : people_(people), devices_(devices) {}
  [[nodiscard]] std::uint32_t person(std::size_t person) const { return static_cast<std::uint32_t>(person); }
  [[nodiscard]] std::uint32_t pressed(model::DeviceId device) const { return of(device, 0); }
  [[nodiscard]] std::uint32_t hidden(model::DeviceId device) const { return of(device, 1); }
  [[nodiscard]] std::uint32_t bus() const { return static_cast<std::uint32_t>(people_ + 2 * devices_); }
  [[nodiscard]] std::uint32_t clock() const { return bus() + 1; }
  [[nodiscard]] std::size_t count() const { return people_ + 2 * devices_ + 2; }

 private:
  [[nodiscard]] std::uint32_t of(model::DeviceId device, std::size_t which) const {
    return static_cast<std::uint32_t>(people_ + 2 * std::size_t{device} + which);
  }
  std::size_t people_;
  std::size_t devices_;
};

/// Something that is said at a moment on a track.
struct Saying {
  enum class Kind {
    words,
    inside,    ///< words inside a band that begins there
    framed,    ///< hidden words in their frame
    time_out,  ///< the mark of a time-out that ran out, and words
    glance,    ///< an eye, open or closed, with a tick or a cross
    note,      ///< a letter in a disc
    clock,     ///< a time on the axis, with its rule
  };
  Kind kind = Kind::words;
  sim::Instant at{};
  std::uint32_t track = 0;
  std::string text;
  TextStyle style{};
  Ink ink = Ink::ink;
  Shown shown = Shown::always;
  bool passed = true;  ///< of a glance
  sim::EntryId entry = sim::no_entry;
  std::string longer = {};  ///< said instead where there happens to be room; may be empty
};

double width_of(const Saying& saying);

/// A telegram that did not arrive at a device.
struct Miss {
  sim::Instant at{};
  sim::Loss loss{};
  sim::EntryId entry = sim::no_entry;
};

struct Plan {
  Tracks tracks{0, 0};
  sim::Instant from{};
  sim::Instant to{};
  std::vector<Saying> sayings;            ///< by time; the axis's slots, in order
  std::vector<Saying> asides;             ///< by time; said where there happens to be room
  std::vector<std::vector<Miss>> misses;  ///< by device, without beacons
  std::vector<const Note*> notes;         ///< by letter
  Axis axis;
};

/// What stands at the left end of a track in a row that begins at `at`: what was so already. May be empty.
std::optional<Saying> opening_saying(const Timeline& timeline, const Plan& plan, std::uint32_t track,
                                     sim::Instant at);

/// Of the arrow on each side of how long a break is.
inline constexpr double break_arrow_width = 14;

/// The time that a break leaves out, in words: "172 s", "12 min 5 s", "2 h 0 min".
std::string break_text(sim::Duration time);

/// "a", "b" ... "z", "aa" ...
std::string note_letter(std::size_t index);

/// The timeline must outlive the plan.
Plan plan_picture(const Timeline& timeline, const PictureOptions& options);

}  // namespace drybus::tools::picture
