#include "tools/observed/differences.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::tools {

using model::tr;

namespace {

/// So far is looked ahead for where the two go on alike.
constexpr std::size_t farthest_look = 64;

using OfDevice = std::vector<const Seen*>;

std::map<std::string_view, OfDevice> by_device(std::span<const Seen> all) {
  std::map<std::string_view, OfDevice> devices;
  for (const Seen& each : all) devices[each.device].push_back(&each);
  return devices;
}

/// One device in both runs: what is alike is passed over, and where it is not, the nearest place is looked for from which
/// both go on alike.
class Walk {
 public:
  Walk(const OfDevice& before, const OfDevice& now, sim::Duration within, std::vector<Difference>& found)
      : before_(before), now_(now), within_(within), found_(found) {}

  void go() {
    while (i_ < before_.size() || j_ < now_.size()) {
      if (i_ < before_.size() && j_ < now_.size() && alike(i_, j_)) {
        ++i_, ++j_;
        continue;
      }
      const auto [of_before, of_now] = to_where_alike();
      tell(of_before, of_now);
    }
  }

 private:
  [[nodiscard]] bool alike(std::size_t i, std::size_t j) const {
    const Seen& a = *before_[i];
    const Seen& b = *now_[j];
    return a.what == b.what && std::max(a.at, b.at) - std::min(a.at, b.at) <= within_;
  }

  /// How many of each are passed over: the fewest together.
  [[nodiscard]] std::pair<std::size_t, std::size_t> to_where_alike() const {
    const std::size_t left = before_.size() - i_;
    const std::size_t right = now_.size() - j_;
    for (std::size_t both = 1; both <= 2 * farthest_look; ++both) {
      for (std::size_t of_now = 0; of_now <= both; ++of_now) {
        const std::size_t of_before = both - of_now;
        if (of_before < left && of_now < right && alike(i_ + of_before, j_ + of_now))
          return {of_before, of_now};
      }
    }
    // Nowhere near: one and one, as long as both have any.
    if (left == 0 || right == 0) return {left, right};
    return {1, 1};
  }

  /// What was and what is, in pairs: the same thing at another time first, then whatever stood in its place.
  void tell(std::size_t of_before, std::size_t of_now) {
    std::vector<bool> taken(of_now, false);
    std::vector<const Seen*> gone;
    for (std::size_t i = 0; i < of_before; ++i) {
      const Seen& was = *before_[i_ + i];
      std::size_t j = 0;
      while (j < of_now && (taken[j] || now_[j_ + j]->what != was.what)) ++j;
      if (j == of_now) {
        gone.push_back(&was);
        continue;
      }
      taken[j] = true;
      found_.push_back({was, *now_[j_ + j], {}});
    }
    std::size_t j = 0;
    for (const Seen* was : gone) {
      while (j < of_now && taken[j]) ++j;
      found_.push_back({*was, j < of_now ? std::optional{*now_[j_ + j]} : std::nullopt, {}});
      if (j < of_now) taken[j] = true;
    }
    for (j = 0; j < of_now; ++j) {
      if (!taken[j]) found_.push_back({std::nullopt, *now_[j_ + j], {}});
    }
    i_ += of_before;
    j_ += of_now;
  }

  const OfDevice& before_;
  const OfDevice& now_;
  sim::Duration within_;
  std::vector<Difference>& found_;
  std::size_t i_ = 0;
  std::size_t j_ = 0;
};

}  // namespace

sim::Instant Difference::at() const {
  if (was && is) return std::min(was->at, is->at);
  return either().at;
}

std::vector<Difference> differences(std::span<const Seen> before, std::span<const Seen> now,
                                    sim::Duration within) {
  static const OfDevice nothing;
  const auto of_before = by_device(before);
  const auto of_now = by_device(now);
  std::vector<Difference> found;
  for (const auto& [device, seen] : of_before) {
    const auto other = of_now.find(device);
    Walk{seen, other == of_now.end() ? nothing : other->second, within, found}.go();
  }
  for (const auto& [device, seen] : of_now) {
    if (!of_before.contains(device)) Walk{nothing, seen, within, found}.go();
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Difference& a, const Difference& b) { return a.at() < b.at(); });
  return found;
}

std::string to_text(const Difference& difference) {
  const auto& [was, is, known] = difference;
  if (!is) return tr("{}: {} at {} is gone", was->device, was->what, exact_clock_text(was->at));
  if (!was) return tr("{}: {} at {} is new", is->device, is->what, exact_clock_text(is->at));
  if (was->what == is->what) {
    return tr("{}: {} was at {}, is at {}", was->device, was->what, exact_clock_text(was->at),
              exact_clock_text(is->at));
  }
  if (was->at == is->at)
    return tr("{}: at {} it was {}, is {}", was->device, exact_clock_text(was->at), was->what, is->what);
  return tr("{}: it was {} at {}, is {} at {}", was->device, was->what, exact_clock_text(was->at), is->what,
            exact_clock_text(is->at));
}

}  // namespace drybus::tools
