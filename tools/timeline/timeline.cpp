#include "tools/timeline/timeline.h"

#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/installer.h"

namespace drybus::tools {

using namespace model;  // a view speaks the model's words throughout

double time_left(const SetupBand& band, sim::Instant at) {
  if (band.ended_by == ModeReason::time_out && at >= band.to) return 0;
  const auto later = std::upper_bound(band.restarts.begin(), band.restarts.end(), at);
  const sim::Instant begun = later == band.restarts.begin() ? band.from : *std::prev(later);
  if (band.time_out <= sim::Duration::zero()) return 1;
  return std::clamp(1 - sim::seconds(at - begun) / sim::seconds(band.time_out), 0.0, 1.0);
}

bool is_hidden(DeviceMark::Kind kind) {
  return kind != DeviceMark::Kind::switches;
}

std::string held_at(const DeviceLane& lane, sim::Instant at) {
  std::string held = lane.held;
  for (const DeviceMark& mark : lane.marks) {
    if (mark.at > at) break;
    if (mark.kind == DeviceMark::Kind::stored) held = mark.text;
    if (mark.kind == DeviceMark::Kind::torn) held = tr("no address");
  }
  return held;
}

std::string set_to_at(const DeviceLane& lane, sim::Instant at) {
  std::string set_to = lane.set_to;
  for (const DeviceMark& mark : lane.marks) {
    if (mark.at > at) break;
    if (mark.kind == DeviceMark::Kind::switches) set_to = mark.text;
  }
  return set_to;
}

std::string power_up_at(const DeviceLane& lane, sim::Instant at) {
  std::string power_up = lane.power_up;
  for (const DeviceMark& mark : lane.marks) {
    if (mark.at > at) break;
    if (mark.kind == DeviceMark::Kind::power_up) power_up = mark.text;
  }
  return power_up;
}

bool power_up_matters(const DeviceLane& lane) {
  if (!lane.cuts.empty()) return true;
  return std::any_of(lane.marks.begin(), lane.marks.end(), [&](const DeviceMark& mark) {
    // Stored together with an address it is told beside that, where there is room.
    return mark.kind == DeviceMark::Kind::power_up &&
           std::none_of(lane.marks.begin(), lane.marks.end(), [&](const DeviceMark& other) {
             return other.at == mark.at && other.kind == DeviceMark::Kind::stored;
           });
  });
}

bool TelegramMark::collided() const {
  return std::any_of(receptions.begin(), receptions.end(), [](const ReceptionMark& r) {
    return r.hearing == Hearing::lost && r.loss == sim::Loss::collision;
  });
}

bool TelegramMark::lost_by_somebody() const {
  return cut_short || std::any_of(receptions.begin(), receptions.end(),
                                  [](const ReceptionMark& r) { return r.hearing == Hearing::lost; });
}

std::string_view short_text(sim::Loss loss) {
  switch (loss) {
    case sim::Loss::collision:
      return "collision";
    case sim::Loss::noise:
      return "noise";
    case sim::Loss::no_path:
      return "no way";
    case sim::Loss::unpowered:
      return "no power";
    case sim::Loss::cut_short:
      return "cut short";
  }
  return "";
}

Telling telling(const Scenario& scenario, const sim::Record& record, sim::EntryId entry) {
  constexpr std::size_t longest_chain = 6;
  Telling told;
  if (entry == sim::no_entry) return told;
  told.what = describe(scenario, record[entry]);
  told.when = clock_text(record[entry].at);
  told.at = record[entry].at;
  sim::EntryId at = entry;
  while (told.because.size() < longest_chain) {
    const sim::Entry& from = record[at];
    at = from.because != sim::no_entry ? from.because : from.cause;
    if (at == sim::no_entry || what(record[at]) == What::began) break;
    told.because.push_back(tr("{} at {}", describe(scenario, record[at]), clock_text(record[at].at)));
    if (what(record[at]) == What::step) break;
  }
  return told;
}

}  // namespace drybus::tools
