#include "model/iec62386/describe.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>

#include "model/iec62386/simulation.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::iec62386 {

using model::plural;
using model::tr;

namespace {

std::string job_text(const std::string& name, Controller::Job job) {
  switch (job) {
    case Controller::Job::none:
      return tr("{} begins nothing", name);
    case Controller::Job::frames:
      return tr("{} begins sending", name);
    case Controller::Job::addressing:
      return tr("{} begins addressing", name);
    case Controller::Job::inventory:
      return tr("{} begins taking the inventory", name);
  }
  return name;
}

/// `who`: one device, or several that did it alike.
std::string level_text(const std::string& who, std::uint64_t b) {
  const auto to = static_cast<Level>(b);
  const auto before = static_cast<Level>(b >> 8U);
  const sim::Duration lasts{static_cast<std::int64_t>(b >> 16U)};
  const std::string share = model::with_decimal_mark(percent_text(to));
  return lasts > sim::Duration::zero() ? tr("{}: level {} to {} ({} of full light, in {})", who, before, to,
                                            share, model::duration_text(lasts))
                                       : tr("{}: level {} to {} ({} of full light)", who, before, to, share);
}

std::string short_address_text(const std::string& who, std::size_t count, std::uint64_t address) {
  return address == no_short
             ? plural("{} has no short address any more", "{} each: has no short address any more", count,
                      who)
             : plural("{} took short address {}", "{} each: took short address {}", count, who, address);
}

/// `who`: `count` devices that did it alike.
std::string did_text(const std::string& who, std::size_t count, Did did, std::uint64_t b) {
  switch (did) {
    case Did::initialised:
      return plural("{} is initialised", "{} each: is initialised", count, who);
    case Did::init_ended:
      return plural("{} is initialised no more: terminate", "{} each: is initialised no more: terminate",
                    count, who);
    case Did::init_ran_out:
      return plural("{} is initialised no more: its 15 minutes ran out",
                    "{} each: is initialised no more: its 15 minutes ran out", count, who);
    case Did::wants_random:
      return tr("{} drew random address {:06X}", who, b);
    case Did::withdrawn:
      return plural("{} withdrew from the search", "{} each: withdrew from the search", count, who);
    case Did::programmed:
      return short_address_text(who, count, b);
    case Did::level:
      return level_text(who, b);
    case Did::power_on_level:
      return plural("{} went to its power on level {}", "{} each: went to its power on level {}", count, who,
                    b & 0xFFU);
    case Did::failure_level:
      return plural("{} went to its system failure level {}", "{} each: went to its system failure level {}",
                    count, who, b & 0xFFU);
    case Did::clipped:
      return plural("{}'s limits cut the level", "{} each:'s limits cut the level", count, who);
    case Did::mask_ignored:
      return plural("{} was sent 255, which is no level", "{} each: was sent 255, which is no level", count,
                    who);
    case Did::scene:
      return plural("{} goes to what it has for the scene", "{} each: goes to what it has for the scene",
                    count, who);
    case Did::group_changed:
      return plural("{}'s groups are now {:016b} (15 to 0)", "{} each:'s groups are now {:016b} (15 to 0)",
                    count, who, b);
    case Did::scene_changed:
      return plural("{} stored a scene level", "{} each: stored a scene level", count, who);
    case Did::setting_changed:
      return plural("{} stored a setting", "{} each: stored a setting", count, who);
    case Did::twice_missed:
      return plural("{} let it go: it did not come twice", "{} each: let it go: it did not come twice", count,
                    who);
    case Did::wrong_type:
      return plural("{} passed it over: it is of another device type",
                    "{} each: passed it over: it is of another device type", count, who);
    case Did::not_ready:
      return plural("{} did not hear it: it is not ready yet",
                    "{} each: did not hear it: it is not ready yet", count, who);
    case Did::reset:
      return plural("{} is as from the box, but for its short address",
                    "{} each: is as from the box, but for its short address", count, who);
    case Did::identifies:
      return plural("{} shows itself", "{} each: shows itself", count, who);
    case Did::identified:
      return plural("{} shows itself no more", "{} each: shows itself no more", count, who);
    case Did::compared:
    case Did::twice_begun:
    case Did::dtr0_used:
    case Did::group_followed:
      break;
  }
  return who;
}

std::string fault_text(const std::string& name, FaultKind kind, bool on) {
  switch (kind) {
    case FaultKind::shorted:
      return on ? tr("{}: its wires touch", name) : tr("{}: its wires are apart again", name);
    case FaultKind::mains:
      return on ? tr("{}: a phase is on the pair", name) : tr("{}: the phase is off the pair", name);
    case FaultKind::joined:
      return on ? tr("{} touches another line", name) : tr("{} is parted from another line", name);
    case FaultKind::second_supply:
      return on ? tr("{}: a second supply is on it", name) : tr("{}: a second supply is taken off", name);
    case FaultKind::lamp:
      return on ? tr("{}'s lamp has failed", name) : tr("{}'s lamp is whole again", name);
    case FaultKind::holds_low:
      return on ? tr("{} holds the line low", name) : tr("{} lets go of the line", name);
    case FaultKind::deaf:
      return on ? tr("{} misses what comes next", name) : tr("{} hears again", name);
  }
  return name;
}

std::string read_text(const std::string& name, std::uint32_t read, std::uint64_t should_be) {
  if (read == 256) return tr("{} read back silence, where {} was set", name, should_be);
  if (read == 257) return tr("{} read back garbled, where {} was set", name, should_be);
  return read == should_be ? tr("{} read back {}, as set", name, read)
                           : tr("{} read back {}, where {} was set", name, read, should_be);
}

std::string walked_text(const Scenario& scenario, const sim::Entry& entry) {
  const std::string& to = scenario.site.places[entry.b].name;
  return entry.who == 0 ? tr("walked to {}", to)
                        : tr("{}: walked to {}", scenario.people[entry.who].name, to);
}

}  // namespace

std::string describe(const Scenario& scenario, const sim::Record& record, sim::EntryId id) {
  const sim::Entry& entry = record[id];
  const Site& site = scenario.site;
  const auto name = [&] { return site.name(entry.who); };
  switch (what(entry)) {
    case What::began:
      return tr("the run began");
    case What::step: {
      const std::string whose = entry.who == 0 ? "" : scenario.people[entry.who].name + ": ";
      return whose + scenario.people[entry.who].script[entry.a].said;
    }
    case What::walked:
      return walked_text(scenario, entry);
    case What::checked:
      return tr("looked");
    case What::sent:
      return tr("{} sent \"{}\"", name(), in_words(frame_of(entry)));
    case What::answered:
      return entry.b == yes ? tr("{} answered yes (255)", name()) : tr("{} answered {}", name(), entry.b);
    case What::garbled:
      return tr("{} gear answered {} at once, and garbled one another", entry.b, name());
    case What::unheard:
      return tr("{} answered, too weakly to be heard", name());
    case What::collided:
      return tr("{} began while {} had just begun", name(), site.name(entry.a));
    case What::broken:
      return tr("both broke off, and begin anew");
    case What::cannot_send:
      return entry.a == 0 ? tr("{} cannot send: the line is low", name())
                          : tr("{} cannot send: it sees no line", name());
    case What::job_begun:
      return job_text(name(), static_cast<Controller::Job>(entry.a));
    case What::job_ended:
      return tr("{} is through", name());
    case What::found:
      return tr("{} found {:06X} and gives it short address {}", name(), entry.b, entry.a);
    case What::no_number:
      return tr("{} found {:06X}, and no short address is left", name(), entry.b);
    case What::not_verified:
      return tr("{} asked whether short address {} was taken: silence", name(), entry.a);
    case What::named:
      return tr("the lamp is named: short address {}", entry.a);
    case What::read_back:
      return read_text(name(), entry.a, entry.b);
    case What::did:
      return did_text(name(), 1, static_cast<Did>(entry.a), entry.b);
    case What::mains:
      return entry.a != 0 ? tr("{}'s mains is on", name()) : tr("{}'s mains is off", name());
    case What::line:
      return entry.a != 0 ? tr("{} is low: it carries nothing", name()) : tr("{} is up again", name());
    case What::fault:
      return fault_text(name(), static_cast<FaultKind>(entry.a), entry.b != 0);
    case What::plugged:
      return entry.a != 0 ? tr("{} is on the line", name()) : tr("{} is off the line", name());
    case What::swapped:
      return tr("another gear hangs as {}", name());
  }
  return "";
}

namespace {

using ToldKind = protocol::Told::Kind;

std::string check_text(const protocol::CheckOutcome& check) {
  if (check.seen) return check.passed ? tr("looks: {}", check.what) : tr("looks: {} - NO", check.what);
  return check.passed ? tr("expected: {}", check.what) : tr("expected: {} - NO", check.what);
}

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
        return add(id, check.seen ? ToldKind::seen : ToldKind::hidden, check_text(check));
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
    const std::string& name = scenario_.site.name(entry.who);
    add(id, ToldKind::seen,
        unverified == 0 ? tr("{} is through: {} found", name, found)
                        : tr("{} is through: {} found, {} not verified", name, found, unverified));
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
    const std::string& own = scenario_.site.name(entry.who);
    const std::string all = names.size() < 2   ? own
                            : names.size() > 5 ? tr("{} and {} more", own, names.size() - 1)
                                               : fmt::format("{}", fmt::join(names, ", "));
    return did_text(all, std::max<std::size_t>(names.size(), 1), static_cast<Did>(entry.a), entry.b);
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
