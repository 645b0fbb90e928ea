#include "model/run/driver.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <vector>

#include "model/devices/device.h"
#include "model/firmware/logic.h"
#include "model/record/describe.h"
#include "model/site/ticking.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// Who made the last events tells who made them all: what never rests does the same over and over.
constexpr std::uint64_t most_counted = 1'000'000;
/// So many that together made nearly all are named.
constexpr std::size_t most_named = 3;
constexpr double nearly_all = 0.9;

bool is_of_the_medium(const sim::Event& event) {
  return event.kind == sim::medium_attempt_event || event.kind == sim::medium_end_event;
}

int percent(std::uint64_t part, std::uint64_t whole) {
  return static_cast<int>(100 * part / whole);
}

}  // namespace

/// Who made events, and by what.
class Driver::Census {
 public:
  explicit Census(const Scenario& scenario)
      : scenario_(scenario), devices_(scenario.site.device_count()), people_(scenario.people.size()) {}

  void add(const sim::Event& event) {
    ++all_;
    if (is_of_the_medium(event)) {
      ++devices_[event.who].sent;
    } else if (static_cast<Happening>(event.kind) == Happening::person) {
      if (event.who < people_.size()) ++people_[event.who];
    } else if (static_cast<Happening>(event.kind) == Happening::timer) {
      ++devices_[event.who].timers[event.arg];
    } else {
      ++devices_[event.who].others;
    }
  }

  /// The one that made most; no_device when that was a person.
  [[nodiscard]] DeviceId busiest() const {
    const std::vector<Share> shares = in_order();
    return shares.empty() ? no_device : shares.front().device;
  }

  /// "P1's beacon timer made 99 % of the last million"
  [[nodiscard]] std::string told(std::uint64_t events) const {
    std::string text;
    std::uint64_t told = 0;
    std::size_t named = 0;
    for (const Share& share : in_order()) {
      if (named == most_named || static_cast<double>(told) >= nearly_all * static_cast<double>(all_)) break;
      if (named++ > 0) text += ", ";
      const auto part = percent(share.events, all_);
      text += told != 0        ? tr("{} made {} %", share.who, part)
              : all_ == events ? tr("{} made {} % of them", share.who, part)
                               : tr("{} made {} % of the last {}", share.who, part, count_text(all_));
      told += share.events;
    }
    return text;
  }

 private:
  struct Made {
    std::array<std::uint64_t, timer_count> timers{};
    std::uint64_t sent = 0;
    std::uint64_t others = 0;  ///< contacts that settle, fades that arrive

    [[nodiscard]] std::uint64_t in_all() const {
      std::uint64_t sum = sent + others;
      for (const std::uint64_t timer : timers) sum += timer;
      return sum;
    }
  };
  struct Share {
    DeviceId device = no_device;
    std::uint64_t events = 0;
    std::string who;
  };

  /// The most events first.
  [[nodiscard]] std::vector<Share> in_order() const {
    std::vector<Share> shares;
    for (std::size_t i = 0; i < devices_.size(); ++i) {
      const auto device = static_cast<DeviceId>(i);
      if (const std::uint64_t made = devices_[i].in_all(); made != 0)
        shares.push_back({device, made, source_text(device)});
    }
    for (std::size_t i = 0; i < people_.size(); ++i) {
      if (people_[i] != 0) shares.push_back({no_device, people_[i], scenario_.people[i].name});
    }
    std::stable_sort(shares.begin(), shares.end(),
                     [](const Share& a, const Share& b) { return a.events > b.events; });
    return shares;
  }

  /// "P1's beacon timer and what it sent"
  [[nodiscard]] std::string source_text(DeviceId device) const {
    const Made& made = devices_[device];
    const std::string& name = scenario_.site.name(device);
    const auto busiest = std::max_element(made.timers.begin(), made.timers.end());
    if (*busiest == 0) return name;
    const auto timer = static_cast<Timer>(busiest - made.timers.begin());
    return made.sent > 0 ? tr("{}'s {} timer and what it sent", name, to_string(timer))
                         : tr("{}'s {} timer", name, to_string(timer));
  }

  const Scenario& scenario_;
  std::vector<Made> devices_;
  std::vector<std::uint64_t> people_;
  std::uint64_t all_ = 0;
};

Driver::Driver(Simulation& simulation, const Budget& budget)
    : simulation_(simulation),
      budget_(budget),
      most_entries_(budget.record_bytes / sizeof(sim::Entry)),
      counted_from_(budget.events - std::clamp<std::uint64_t>(budget.events / 2, 1, most_counted)),
      entries_counted_from_(most_entries_ - std::min<std::size_t>(most_entries_ / 2, most_counted)) {}

Driver::~Driver() = default;

bool Driver::carry(std::uint32_t person) {
  return go_on([this, person] { return simulation_.world().people[person].done != 0; });
}

void Driver::renew() {
  events_ = 0;
  census_.reset();
}

namespace {
/// Turns of a main loop are no sign of a run that never ends: each takes its time.
bool is_turn(const Simulation& simulation, const sim::Event& event) {
  if (is_of_the_medium(event) || static_cast<Happening>(event.kind) != Happening::timer ||
      event.arg != static_cast<std::uint16_t>(Ticking::turn_timer)) {
    return false;
  }
  const Ticking* ticking = ticking_of(simulation.site().logic.get());
  return ticking != nullptr && ticking->ticks(simulation.site(), event.who);
}
}  // namespace

void Driver::count(const sim::Event& event) {
  if (is_turn(simulation_, event)) {
    --events_;
    return;
  }
  if (!census_) census_ = std::make_unique<Census>(simulation_.scenario());
  census_->add(event);
  if (is_used_up()) stop();
}

void Driver::stop() const {
  const DeviceId device = census_->busiest();
  const Site& site = simulation_.site();
  const std::string how_much = events_ >= budget_.events
                                   ? tr("{} events", count_text(events_))
                                   : tr("{} events that filled the record with {}", count_text(events_),
                                        size_text(budget_.record_bytes));
  const std::string who = census_->told(events_);
  const bool firmware =
      device != no_device && site.logic && site.logic->bytes_per_device(site.is_plate(device)) != 0;
  if (firmware) {
    throw FirmwareFault{device,
                        tr("{}: its firmware keeps waking itself up, or sending: stopped after {}; {}",
                           site.name(device), how_much, who)};
  }
  throw UsedUp{device, tr("stopped after {}, at {}; {}", how_much, clock_text(simulation_.world().now), who)};
}

std::string count_text(std::uint64_t count) {
  constexpr std::uint64_t million = 1'000'000;
  return count >= million && count % (million / 10) == 0
             ? tr("{} million", with_decimal_mark(fmt::format(
                                    "{:g}", static_cast<double>(count) / static_cast<double>(million))))
             : fmt::format("{}", count);
}

std::string size_text(std::size_t bytes) {
  constexpr std::array units = {"bytes", "kB", "MB", "GB"};
  auto size = static_cast<double>(bytes);
  std::size_t unit = 0;
  for (; size >= 1024 && unit + 1 < units.size(); ++unit) size /= 1024;
  const std::string number = with_decimal_mark(fmt::format("{:.3g}", size));
  return unit == 0 ? tr("{} bytes", number) : fmt::format("{} {}", number, units[unit]);
}

}  // namespace drybus::model
