// What could be seen and heard in a run, in words that stay: so that it can be kept in a file, and held against what a
// later build does.
#pragma once

#include <string>
#include <vector>

#include "model/people/script.h"
#include "sim/record.h"

namespace drybus::tools {

/// One thing that a person could see, or hear on the bus.
struct Seen {
  sim::Instant at{};
  std::string device;
  std::string what;  ///< "indicator blink", "load 0% to 100% in 700ms", "begins assign 23/4/1"
  sim::EntryId entry = sim::no_entry;  ///< of the record that it was read off, if any

  /// Whether the two tell the same, at whatever time.
  [[nodiscard]] bool is_same_thing(const Seen& other) const {
    return what == other.what && device == other.device;
  }
};

/// In the order of the record. How often a sender had to put its telegram off does not count: nobody hears that.
std::vector<Seen> seen_in(const model::Scenario& scenario, const sim::Record& record);

/// A time on the run's clock to the nanosecond, without needless zeros: "0:03.2", "1:00:03.204000417".
std::string exact_clock_text(sim::Instant at);

}  // namespace drybus::tools
