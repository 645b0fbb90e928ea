// What somebody who watched the whole run knows beyond the world as it stands: since when a pattern shows,
// who set off when, which telegrams went by and who heard them. A plain value, fed with the record entry by
// entry.
#pragma once

#include <vector>

#include "model/family/telegram.h"
#include "model/people/script.h"
#include "model/record/trace.h"
#include "sim/network.h"
#include "sim/record.h"

namespace drybus::tools {

struct SeenDevice {
  sim::Instant indicator_since = sim::start_of_run;
  sim::Instant setup_since = sim::start_of_run;  ///< when it last entered setup
};

struct SeenPerson {
  sim::Instant step_since = sim::start_of_run;    ///< when they turned to the step in hand
  sim::Instant acting_since = sim::start_of_run;  ///< the same, or when they arrived where that is done
  model::PlaceId from = 0;                        ///< of the last walk, as the two below
  model::PlaceId to = 0;
  sim::Instant set_off = sim::start_of_run;
};

struct MissedTelegram {
  model::DeviceId device = 0;
  sim::Loss loss = sim::Loss::collision;
};

struct SeenTelegram {
  sim::EntryId sent = sim::no_entry;  ///< its first bit
  sim::EntryId whole =
      sim::no_entry;  ///< its last bit; none while it is on the bus, or when it was cut short
  model::DeviceId sender = 0;
  model::Telegram telegram;
  sim::Instant begin{};
  sim::Instant end{};  ///< when it is over, or `never`
  bool cut_short = false;
  std::vector<model::DeviceId> heard;
  std::vector<model::DeviceId> took;     ///< stored it as their address
  std::vector<model::DeviceId> ignored;  ///< an assign, heard in normal mode
  std::vector<MissedTelegram> missed;
  sim::EntryId last_heard = sim::no_entry;  ///< the entry of the device that heard it last
  std::uint32_t changes = 0;                ///< grows with everything that becomes known of it
};

class Onlooker {
 public:
  explicit Onlooker(const model::Scenario& scenario);

  /// Takes in the record's next entry. Every entry of a run has to come by, in order.
  void take_in(sim::EntryId id, const sim::Entry& entry);

  [[nodiscard]] const SeenDevice& device(model::DeviceId device) const { return devices_[device]; }
  [[nodiscard]] const SeenPerson& person(std::size_t person) const { return people_[person]; }
  /// Those on the bus and the last ones before, oldest first; no more than `kept_telegrams` that are over.
  [[nodiscard]] const std::vector<SeenTelegram>& telegrams() const { return telegrams_; }

  static constexpr std::size_t kept_telegrams = 64;

 private:
  void indicator(const sim::Entry& entry);
  void mode(const sim::Entry& entry);
  void sent(sim::EntryId id, const sim::Entry& entry);
  void sent_whole(sim::EntryId id, const sim::Entry& entry);
  void heard(sim::EntryId id, const sim::Entry& entry);
  void lost(const sim::Entry& entry);
  void cut_short(const sim::Entry& entry);
  void forget_old();
  [[nodiscard]] SeenTelegram* by_bits(sim::EntryId cause);
  [[nodiscard]] SeenTelegram* by_reception(const sim::Entry& reaction);

  std::vector<SeenDevice> devices_;
  std::vector<model::Pattern> patterns_;
  std::vector<SeenPerson> people_;
  std::vector<SeenTelegram> telegrams_;
};

}  // namespace drybus::tools
