#include "model/iec62386/describe.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <array>

#include "model/iec62386/simulation.h"
#include "model/record/describe.h"

namespace drybus::iec62386 {

namespace {

std::string_view job_text(std::uint32_t job) {
  constexpr std::array<std::string_view, 4> words = {"nothing", "sending", "addressing",
                                                     "taking the inventory"};
  return words.at(job);
}

std::string level_text(std::uint64_t b) {
  const auto to = static_cast<Level>(b);
  const auto before = static_cast<Level>(b >> 8U);
  const sim::Duration lasts{static_cast<std::int64_t>(b >> 16U)};
  const std::string way =
      lasts > sim::Duration::zero() ? fmt::format(", in {}", model::duration_text(lasts)) : "";
  return fmt::format("level {} to {} ({} of full light{})", before, to, percent_text(to), way);
}

std::string did_text(const std::string& name, Did did, std::uint64_t b) {
  switch (did) {
    case Did::initialised:
      return fmt::format("{} is initialised", name);
    case Did::init_ended:
      return fmt::format("{} is initialised no more: terminate", name);
    case Did::init_ran_out:
      return fmt::format("{} is initialised no more: its 15 minutes ran out", name);
    case Did::wants_random:
      return fmt::format("{} drew random address {:06X}", name, b);
    case Did::withdrawn:
      return fmt::format("{} withdrew from the search", name);
    case Did::programmed:
      return b == no_short ? fmt::format("{} has no short address any more", name)
                           : fmt::format("{} took short address {}", name, b);
    case Did::level:
      return fmt::format("{}: {}", name, level_text(b));
    case Did::power_on_level:
      return fmt::format("{} went to its power on level {}", name, b & 0xFFU);
    case Did::failure_level:
      return fmt::format("{} went to its system failure level {}", name, b & 0xFFU);
    case Did::clipped:
      return fmt::format("{}'s limits cut the level", name);
    case Did::mask_ignored:
      return fmt::format("{} was sent 255, which is no level", name);
    case Did::scene:
      return fmt::format("{} goes to what it has for the scene", name);
    case Did::group_changed:
      return fmt::format("{}'s groups are now {:016b} (15 to 0)", name, b);
    case Did::scene_changed:
      return fmt::format("{} stored a scene level", name);
    case Did::setting_changed:
      return fmt::format("{} stored a setting", name);
    case Did::twice_missed:
      return fmt::format("{} let it go: it did not come twice", name);
    case Did::wrong_type:
      return fmt::format("{} passed it over: it is of another device type", name);
    case Did::not_ready:
      return fmt::format("{} did not hear it: it is not ready yet", name);
    case Did::reset:
      return fmt::format("{} is as from the box, but for its short address", name);
    case Did::identifies:
      return fmt::format("{} shows itself", name);
    case Did::identified:
      return fmt::format("{} shows itself no more", name);
    case Did::compared:
    case Did::twice_begun:
    case Did::dtr0_used:
    case Did::group_followed:
      break;
  }
  return name;
}

std::string fault_text(const std::string& name, FaultKind kind, bool on) {
  switch (kind) {
    case FaultKind::shorted:
      return fmt::format("{}: {}", name, on ? "its wires touch" : "its wires are apart again");
    case FaultKind::mains:
      return fmt::format("{}: {}", name, on ? "a phase is on the pair" : "the phase is off the pair");
    case FaultKind::joined:
      return fmt::format("{} {} another line", name, on ? "touches" : "is parted from");
    case FaultKind::second_supply:
      return fmt::format("{}: a second supply is {}", name, on ? "on it" : "taken off");
    case FaultKind::lamp:
      return fmt::format("{}'s lamp {}", name, on ? "has failed" : "is whole again");
    case FaultKind::holds_low:
      return fmt::format("{} {}", name, on ? "holds the line low" : "lets go of the line");
    case FaultKind::deaf:
      return fmt::format("{} {}", name, on ? "misses what comes next" : "hears again");
  }
  return name;
}

std::string read_text(std::uint32_t read, std::uint64_t should_be) {
  const std::string is = read == 256 ? "silence" : read == 257 ? "garbled" : fmt::format("{}", read);
  return read == should_be ? fmt::format("read back {}, as set", is)
                           : fmt::format("read back {}, where {} was set", is, should_be);
}

}  // namespace

std::string describe(const Scenario& scenario, const sim::Record& record, sim::EntryId id) {
  const sim::Entry& entry = record[id];
  const Site& site = scenario.site;
  const auto name = [&] { return site.name(entry.who); };
  switch (what(entry)) {
    case What::began:
      return "the run began";
    case What::step: {
      const std::string whose = entry.who == 0 ? "" : scenario.people[entry.who].name + ": ";
      return whose + scenario.people[entry.who].script[entry.a].said;
    }
    case What::walked:
      return fmt::format("{}walked to {}", entry.who == 0 ? "" : scenario.people[entry.who].name + ": ",
                         site.places[entry.b].name);
    case What::checked:
      return "looked";
    case What::sent:
      return fmt::format("{} sent \"{}\"", name(), in_words(frame_of(entry)));
    case What::answered:
      return fmt::format("{} answered {}", name(), entry.b == yes ? "yes (255)" : fmt::format("{}", entry.b));
    case What::garbled:
      return fmt::format("{} gear answered {} at once, and garbled one another", entry.b, name());
    case What::unheard:
      return fmt::format("{} answered, too weakly to be heard", name());
    case What::collided:
      return fmt::format("{} began while {} had just begun", name(), site.name(entry.a));
    case What::broken:
      return "both broke off, and begin anew";
    case What::cannot_send:
      return entry.a == 0 ? fmt::format("{} cannot send: the line is low", name())
                          : fmt::format("{} cannot send: it sees no line", name());
    case What::job_begun:
      return fmt::format("{} begins {}", name(), job_text(entry.a));
    case What::job_ended:
      return fmt::format("{} is through", name());
    case What::found:
      return fmt::format("{} found {:06X} and gives it short address {}", name(), entry.b, entry.a);
    case What::no_number:
      return fmt::format("{} found {:06X}, and no short address is left", name(), entry.b);
    case What::not_verified:
      return fmt::format("{} asked whether short address {} was taken: silence", name(), entry.a);
    case What::named:
      return fmt::format("the lamp is named: short address {}", entry.a);
    case What::read_back:
      return fmt::format("{} {}", name(), read_text(entry.a, entry.b));
    case What::did:
      return did_text(name(), static_cast<Did>(entry.a), entry.b);
    case What::mains:
      return fmt::format("{}'s mains is {}", name(), entry.a != 0 ? "on" : "off");
    case What::line:
      return fmt::format("{} is {}", name(), entry.a != 0 ? "low: it carries nothing" : "up again");
    case What::fault:
      return fault_text(name(), static_cast<FaultKind>(entry.a), entry.b != 0);
    case What::plugged:
      return fmt::format("{} is {}", name(), entry.a != 0 ? "on the line" : "off the line");
    case What::swapped:
      return fmt::format("another gear hangs as {}", name());
  }
  return "";
}

namespace {

using ToldKind = protocol::Told::Kind;

/// Goes through a record; what many did alike at one moment is one line.
class Teller {
 public:
  Teller(const Scenario& scenario, const sim::Record& record,
         const std::vector<protocol::CheckOutcome>& checks)
      : scenario_(scenario), record_(record), checks_(checks) {}

  std::vector<protocol::Told> tell() {
    for (sim::EntryId id = 1; id <= record_.size(); ++id) take(id);
    return std::move(told_);
  }

 private:
  void add(sim::EntryId id, ToldKind kind, std::string text) {
    if (text.empty()) return;
    told_.push_back({kind, record_[id].at, std::move(text), id});
  }
  void add(sim::EntryId id, ToldKind kind) { add(id, kind, describe(scenario_, record_, id)); }

  void take(sim::EntryId id) {
    const sim::Entry& entry = record_[id];
    switch (what(entry)) {
      case What::began:
      case What::job_begun:
      case What::collided:
        return;
      case What::step:
        return step(id, entry);
      case What::walked:
      case What::fault:
        return add(id, ToldKind::done);
      case What::swapped:
      case What::plugged:
      case What::mains:
        return;  // the step says so
      case What::checked: {
        const protocol::CheckOutcome& check = checks_.at(next_check_++);
        const std::string verdict = check.passed ? "" : " - NO";
        return add(id, check.seen ? ToldKind::seen : ToldKind::hidden,
                   fmt::format("{}: {}{}", check.seen ? "looks" : "expected", check.what, verdict));
      }
      case What::sent:
        if ((entry.a & (SentBits::search | SentBits::again)) == 0) add(id, ToldKind::hidden);
        return;
      case What::answered:
      case What::garbled:
        if (!of_search(entry)) add(id, ToldKind::hidden);
        return;
      case What::job_ended:
        return ended(id, entry);
      case What::did:
        return did(id, entry);
      case What::unheard:
      case What::broken:
      case What::cannot_send:
      case What::found:
      case What::no_number:
      case What::not_verified:
      case What::named:
      case What::read_back:
      case What::line:
        return add(id, ToldKind::hidden);
    }
  }

  [[nodiscard]] bool of_search(const sim::Entry& entry) const {
    return entry.cause != sim::no_entry && what(record_[entry.cause]) == What::sent &&
           (record_[entry.cause].a & SentBits::search) != 0;
  }

  void step(sim::EntryId id, const sim::Entry& entry) {
    const Step& step = scenario_.people[entry.who].script[entry.a];
    if (step.kind == StepKind::see || step.kind == StepKind::expect || step.kind == StepKind::walk ||
        step.kind == StepKind::fault)
      return;
    const std::string remark =
        step.kind != StepKind::note && !step.text.empty() ? " (" + step.text + ")" : "";
    add(id, ToldKind::done, describe(scenario_, record_, id) + remark);
  }

  void ended(sim::EntryId id, const sim::Entry& entry) {
    const auto found = static_cast<std::uint32_t>(entry.b);
    if (found == 0) return;
    const std::uint64_t unverified = entry.b >> 32U;
    add(id, ToldKind::seen,
        fmt::format("{} is through: {} found{}", scenario_.site.name(entry.who), found,
                    unverified == 0 ? "" : fmt::format(", {} not verified", unverified)));
  }

  void did(sim::EntryId id, const sim::Entry& entry) {
    const auto did = static_cast<Did>(entry.a);
    // A search withdraws each one that it finds; a new level tells where it comes from.
    if (did == Did::withdrawn || did == Did::scene || did == Did::clipped) return;
    if (of_search(entry) && did != Did::programmed && did != Did::identifies) return;
    const bool seen = did == Did::level || did == Did::identifies || did == Did::power_on_level ||
                      did == Did::failure_level;
    if (told_with_others(entry, did)) return;
    add(id, seen ? ToldKind::seen : ToldKind::hidden, text_for_all(id, entry));
  }

  /// Whether the first of those who did it at this moment has told of all.
  [[nodiscard]] bool told_with_others(const sim::Entry& entry, Did did) {
    const bool same =
        last_did_ == did && last_at_ == entry.at && last_b_ == entry.b && did != Did::wants_random;
    last_did_ = did;
    last_at_ = entry.at;
    last_b_ = entry.b;
    return same;
  }

  /// "M1, M2 and 6 more: level ..."
  std::string text_for_all(sim::EntryId id, const sim::Entry& entry) {
    std::vector<std::string> names;
    for (sim::EntryId next = id; next <= record_.size() && record_[next].at == entry.at; ++next) {
      const sim::Entry& other = record_[next];
      if (what(other) == What::did && other.a == entry.a && other.b == entry.b)
        names.push_back(scenario_.site.name(other.who));
      if (static_cast<Did>(entry.a) == Did::wants_random) break;
    }
    std::string text = describe(scenario_, record_, id);
    const std::string& own = scenario_.site.name(entry.who);
    if (names.size() < 2 || !text.starts_with(own)) return text;
    const std::string all = names.size() > 5 ? fmt::format("{} and {} more", own, names.size() - 1)
                                             : fmt::format("{}", fmt::join(names, ", "));
    return fmt::format("{}{}{}", all,
                       text.substr(own.size(), 1) == ":" ? "" : " each:", text.substr(own.size()));
  }

  const Scenario& scenario_;
  const sim::Record& record_;
  const std::vector<protocol::CheckOutcome>& checks_;
  std::vector<protocol::Told> told_;
  std::size_t next_check_ = 0;
  std::optional<Did> last_did_;
  sim::Instant last_at_ = sim::never;
  std::uint64_t last_b_ = 0;
};

}  // namespace

std::vector<protocol::Told> story(const Scenario& scenario, const sim::Record& record,
                                  const std::vector<protocol::CheckOutcome>& checks) {
  return Teller{scenario, record, checks}.tell();
}

}  // namespace drybus::iec62386
