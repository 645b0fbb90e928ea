#include "model/recovery/search.h"

#include <algorithm>
#include <map>
#include <queue>
#include <string>

#include "sim/digest.h"

namespace drybus::model {

namespace {

/// With so many others, on average, may a situation be compared. Where a setup can be begun at many times there are
/// thousands that differ in nothing else.
constexpr std::size_t most_compared = 20;

struct Node {
  Situation situation;
  CureAction action;
  std::uint32_t before = none;
  static constexpr std::uint32_t none = 0xffffffff;
};

/// Situations in open nodes: the one that can end soonest first, and among equals the one that was found
/// first.
struct Open {
  sim::Duration at_least{};
  std::uint32_t node = 0;
  friend bool operator>(const Open& a, const Open& b) {
    return a.at_least != b.at_least ? a.at_least > b.at_least : a.node > b.node;
  }
};

/// What two situations must have in common to be compared by their times.
struct Signature {
  std::uint32_t standing = 0;
  std::uint32_t rest = 0;
  friend bool operator==(const Signature&, const Signature&) = default;
};

Signature signature_of(const Belief& belief) {
  return {static_cast<std::uint32_t>(belief.standing) | static_cast<std::uint32_t>(belief.channel) << 8 |
              static_cast<std::uint32_t>(belief.held) << 16 |
              static_cast<std::uint32_t>(belief.setting) << 24,
          belief.lit | static_cast<std::uint32_t>(belief.deaf) << 16 |
              static_cast<std::uint32_t>(belief.put_in_setup) << 24 |
              static_cast<std::uint32_t>(belief.offered) << 25};
}

std::uint64_t hash_of(const Situation& situation) {
  std::uint64_t hash =
      situation.place | std::uint64_t{situation.isolated} << 16 | std::uint64_t{situation.setup_begun} << 17;
  for (const Belief& belief : situation.devices) {
    const Signature signature = signature_of(belief);
    hash = sim::hash_bytes(std::as_bytes(std::span{&signature, 1}), hash);
  }
  return hash;
}

/// `a` is at least as good: it is there no later, its setups last as long, and what may go on is over as
/// soon.
bool as_good(const Situation& a, const Situation& b) {
  if (a.place != b.place || a.now > b.now || a.isolated != b.isolated || a.setup_begun != b.setup_begun)
    return false;
  for (std::size_t i = 0; i < a.devices.size(); ++i) {
    const Belief& of_a = a.devices[i];
    const Belief& of_b = b.devices[i];
    if (!(signature_of(of_a) == signature_of(of_b))) return false;
    if (of_a.standing == Standing::setup && of_a.lasts_until < of_b.lasts_until) return false;
    if (of_a.standing == Standing::either && of_a.over_at > of_b.over_at) return false;
  }
  return true;
}

class Search {
 public:
  Search(const CureRules& rules, std::size_t effort) : rules_(rules), effort_(effort) {}

  std::optional<CurePlan> from(PlaceId place) {
    open_node({rules_.beginning(place), {}, Node::none});
    while (!open_.empty()) {
      const std::uint32_t index = open_.top().node;
      open_.pop();
      if (beaten_[index] != 0) continue;
      if (rules_.is_over(nodes_[index].situation)) return plan_to(index);
      if (nodes_.size() > effort_ || compared_ > effort_ * most_compared) return std::nullopt;
      expand(index);
    }
    return std::nullopt;
  }

 private:
  void expand(std::uint32_t index) {
    actions_.clear();
    rules_.add_useful(nodes_[index].situation, actions_);
    for (const CureAction& action : actions_) {
      Situation next = nodes_[index].situation;
      if (rules_.act(next, action)) open_node({std::move(next), action, index});
    }
  }

  void open_node(Node node) {
    std::vector<std::uint32_t>& alike = known_[hash_of(node.situation)];
    compared_ += alike.size();
    for (const std::uint32_t other : alike) {
      if (as_good(nodes_[other].situation, node.situation)) return;
    }
    std::erase_if(alike, [&](std::uint32_t other) {
      if (!as_good(node.situation, nodes_[other].situation)) return false;
      beaten_[other] = 1;
      return true;
    });
    const auto index = static_cast<std::uint32_t>(nodes_.size());
    alike.push_back(index);
    open_.push({node.situation.now + rules_.at_least(node.situation), index});
    nodes_.push_back(std::move(node));
    beaten_.push_back(0);
  }

  [[nodiscard]] CurePlan plan_to(std::uint32_t index) const {
    CurePlan plan;
    plan.time = nodes_[index].situation.now;
    plan.shortest = true;
    for (; nodes_[index].before != Node::none; index = nodes_[index].before)
      plan.actions.push_back(nodes_[index].action);
    std::reverse(plan.actions.begin(), plan.actions.end());
    return plan;
  }

  const CureRules& rules_;
  std::size_t effort_;
  std::size_t compared_ = 0;  ///< situations with others that are alike but for their times
  std::vector<Node> nodes_;
  std::vector<char> beaten_;  ///< by node: another that was found later is as good
  std::priority_queue<Open, std::vector<Open>, std::greater<>> open_;
  std::map<std::uint64_t, std::vector<std::uint32_t>> known_;  ///< by hash
  std::vector<CureAction> actions_;
};

}  // namespace

std::optional<CurePlan> search_cure(const CureRules& rules, PlaceId place, std::size_t effort) {
  // A situation of a large site takes more room: the effort is meant for a dozen devices.
  const std::size_t devices = std::max<std::size_t>(12, rules.site().device_count());
  return Search{rules, std::max<std::size_t>(500, effort * 12 / devices)}.from(place);
}

}  // namespace drybus::model
