#include "model/why/inquiry.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/why/loads.h"
#include "model/why/missing.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// One question in one course.
class Inquiry {
 public:
  Inquiry(const WhyQuestion& question, const Altered& altered, const Course& course)
      : question_(question),
        history_(altered, course.record),
        course_(course),
        happened_(history_, leads_, question.device, needed_at()),
        missing_(history_, course.world, happened_),
        loads_(history_, happened_, missing_) {}

  Leads leads() {
    question_.finding ? finding() : fact(question_.fact);
    return std::move(leads_);
  }

 private:
  [[nodiscard]] DeviceId device() const { return question_.device; }
  [[nodiscard]] bool is_plate() const { return history_.site().is_plate(device()); }
  [[nodiscard]] sim::EntryId end() const { return history_.end(); }
  [[nodiscard]] sim::Instant needed_at() const {
    return question_.finding ? question_.from : course_.world.now;
  }

  // --- facts ---

  void fact(Fact fact) {
    switch (fact) {
      case Fact::address:
        return address();
      case Fact::mode:
        return mode();
      case Fact::level:
      case Fact::load:
        return loads_.level(device(), end());
      case Fact::indicator:
        return indicator();
      case Fact::channel:
        return is_plate() ? channel() : address();
      case Fact::power_up:
        return power_up();
      case Fact::site:
      case Fact::zone:
        return is_plate() ? happened_.switches(device(), end()) : address();
      case Fact::findings:
        return;
    }
  }

  /// The entry that last changed the module's address, if anything did.
  [[nodiscard]] sim::EntryId address_changed() const {
    return history_.last(end(), [&](const sim::Entry& entry) {
      return entry.who == device() && ((what(entry) == What::stored && entry.b != 0) || lost_memory(entry));
    });
  }

  void address() {
    const sim::EntryId changed = address_changed();
    happened_.address(device(), end());
    if (changed == sim::no_entry || lost_memory(history_[changed])) {
      missing_.address_kept(device(), changed);
    }
  }

  void mode() {
    if (const sim::EntryId id = history_.last_mode(device(), end()); id != sim::no_entry) {
      happened_.mode(id);
      if (course_.world.devices[device()].mode == Mode::setup) return;
    }
    missing_.not_in_setup(device(), end(), course_.world.now);
  }

  void channel() {
    const PlateState& plate = course_.world.plates[device()];
    happened_.channel(device(), end());
    if (plate.mode == Mode::setup) {
      if (const sim::EntryId id = history_.last_mode(device(), end()); id != sim::no_entry)
        happened_.mode(id);
      if (plate.channel == 0) missing_.not_stepped(device(), end(), course_.world.now, 1);
      return;
    }
    const sim::EntryId left = history_.last_mode(device(), end());
    if (left != sim::no_entry) happened_.mode(left);
    happened_.next_group();
    missing_.not_used(device(), course_.world.now);
  }

  void power_up() {
    happened_.power_up(device(), end());
    const sim::EntryId changed = history_.last(What::power_up, device(), end());
    if (changed == sim::no_entry && !leads_.empty())
      leads_.front().clause = tr("it was so when the run began");
    if (changed == sim::no_entry) missing_.address_kept(device(), address_changed());
  }

  // --- indicators ---

  void indicator() {
    const Pattern pattern = course_.world.devices[device()].indicator;
    const sim::EntryId shown = history_.last(What::indicator, device(), end());
    switch (pattern) {
      case Pattern::dark:
        return dark();
      case Pattern::blink:
        return mode();
      case Pattern::steady:
        return by_telegram(TelegramKind::identify);
      case Pattern::breathe:
        return by_telegram(TelegramKind::beacon);
      case Pattern::blip:
        if (shown != sim::no_entry && what(history_[history_[shown].cause]) == What::heard) {
          return happened_.heard(history_[shown].cause);
        }
        if (const sim::EntryId heard = history_.last(What::heard, device(), end()); heard != sim::no_entry) {
          happened_.heard(heard);
        }
        return;
      case Pattern::refuse:
        if (const sim::EntryId id = history_.last(What::refused, device(), end()); id != sim::no_entry) {
          happened_.refused(id);
        }
        return;
    }
  }

  void by_telegram(TelegramKind kind) {
    const sim::EntryId heard = history_.last(end(), [&](const sim::Entry& entry) {
      return what(entry) == What::heard && entry.who == device() && unpack(entry.b).kind == kind;
    });
    if (heard == sim::no_entry) return;
    happened_.heard(heard);
    happened_.address(device(), heard);
  }

  /// Dark is the absence of everything else: setup first, then blips that have fallen asleep, then an act.
  void dark() {
    if (course_.world.devices[device()].powered == 0) {
      const sim::EntryId power = history_.last(What::power, device(), end());
      if (power != sim::no_entry)
        happened_.step(power, tr("{}'s power went", history_.site().name(device())));
      return;
    }
    const sim::EntryId unshown = history_.last(What::blip_unshown, device(), end());
    if (unshown != sim::no_entry &&
        history_[unshown].at + history_.site().family_of(device()).indicator.blip >= course_.world.now) {
      asleep(unshown);
      happened_.next_group();
    }
    missing_.not_in_setup(device(), end(), course_.world.now);
  }

  void asleep(sim::EntryId unshown) {
    const sim::EntryId slept = history_.last(What::blips, device(), unshown);
    if (slept != sim::no_entry) fell_asleep(slept);
    const sim::EntryId heard = history_[unshown].cause;
    if (heard != sim::no_entry) happened_.heard(heard);
  }

  void fell_asleep(sim::EntryId slept) {
    const sim::Entry& entry = history_[slept];
    const std::string& name = history_.site().name(entry.who);
    const std::string after = duration_text(history_.site().family_of(entry.who).indicator.blips_sleep);
    const sim::EntryId timer = entry.cause;
    const sim::EntryId started = timer == sim::no_entry ? sim::no_entry : history_[timer].cause;
    std::string since;
    if (started != sim::no_entry) {
      const std::string when = clock_text(history_[started].at);
      since = what(history_[started]) == What::contact ? tr(", {} after its last press at {}", after, when)
                                                       : tr(", {} after it came on at {}", after, when);
    }
    happened_.add(
        {0,
         entry.at,
         tr("{}'s blips fell asleep{}", name, since),
         tr("its blips fell asleep at {}{}", clock_text(entry.at), since),
         std::nullopt,
         {{{change::NoExpiry{entry.who, Timer::sleep, entry.at}}, tr("had they not fallen asleep")}}});
    if (started != sim::no_entry) happened_.dwelling(started, history_.first_at(needed_at()));
  }

  // --- findings ---

  /// The observation that is asked about.
  [[nodiscard]] std::optional<Observation> observation() const {
    for (const Observation& each : course_.watch.observations(history_.scenario(), course_.world)) {
      if (!is_asked_about(question_, each)) continue;
      const sim::Instant until = question_.until ? *question_.until + finding_slack : sim::never;
      if (each.at <= until && each.until.value_or(sim::never) >= question_.from - finding_slack) return each;
    }
    return std::nullopt;
  }

  void finding() {
    const auto seen = observation();
    if (!seen) return;
    switch (seen->id) {
      case FindingId::setup_split:
        return setup_split(*seen);
      case FindingId::assign_unheard:
        return assign_unheard(*seen);
      case FindingId::press_misread:
        return press_misread(*seen);
      case FindingId::two_plates_in_setup:
        return each_mode(*seen);
      case FindingId::shared_address:
        for (const DeviceId module : seen->devices) happened_.address(module, first_after(seen->at));
        return;
      case FindingId::wrong_address:
        return happened_.address(device(), first_after(seen->at));
      case FindingId::unaddressed:
        return address();
      case FindingId::orphan_address:
        return orphan(*seen);
      case FindingId::site_overlap:
        return site_overlap(*seen);
      case FindingId::factory_site:
      case FindingId::zone_zero:
        return bad_switches(*seen);
      case FindingId::out_of_reach:
      case FindingId::telegram_lost:
        return each_lost(*seen);
      case FindingId::blip_asleep:
        return blip_asleep(*seen);
      case FindingId::powers_up_lit:
        return powers_up_lit(*seen);
      case FindingId::stuck_button:
        return stuck(*seen);
      case FindingId::write_lost:
        return write_lost(*seen);
      case FindingId::not_understood:
        return not_understood(*seen);
      case FindingId::scene_in_motion:
      case FindingId::scene_missed:
      case FindingId::scene_of_before:
      case FindingId::scene_unset:
      case FindingId::scene_overwritten:
        return scene(*seen);
      case FindingId::scene_wrong:
        return scene_wrong(*seen);
      case FindingId::master_next_door:
        return master(*seen);
    }
  }

  /// The bound for a search through everything up to an instant, that instant included.
  [[nodiscard]] sim::EntryId first_after(sim::Instant at) const {
    return history_.first_at(at + std::chrono::nanoseconds{1});
  }

  void each_last_mode(const Observation& seen) {
    for (const DeviceId each : seen.devices) {
      if (const sim::EntryId id = history_.last_mode(each, first_after(seen.at)); id != sim::no_entry) {
        happened_.mode(id);
      }
    }
  }

  /// Whoever came to it later as well.
  void each_mode(const Observation& seen) {
    for (const DeviceId device : seen.devices) {
      for (const sim::EntryId id : seen.evidence) {
        if (what(history_[id]) == What::mode && history_[id].who == device) happened_.mode(id);
      }
    }
  }

  void setup_split(const Observation& seen) { each_last_mode(seen); }

  void assign_unheard(const Observation& seen) {
    const sim::EntryId offer = seen.evidence.back();
    happened_.said(offer);
    const sim::Entry& sent = history_[offer];
    bool nobody_waited = true;
    for (std::size_t i = 1; i < seen.devices.size(); ++i) {
      const DeviceId module = seen.devices[i];
      const sim::EntryId lost = history_.next(offer, [&](const sim::Entry& entry) {
        return what(entry) == What::lost && entry.who == module && entry.cause == offer;
      });
      if (lost != sim::no_entry && history_[lost].at == sent.at) happened_.lost(lost);
      nobody_waited = nobody_waited && lost == sim::no_entry;
      if (history_.in_setup(module, offer) || has_taken_one(module, offer)) continue;
      nobody_waited = false;
      missing_.not_in_setup(module, offer, sent.at);
    }
    if (nobody_waited) any_module(offer);
    happened_.sender_was(offer);
  }

  /// It left setup with an address, and waited for no other.
  [[nodiscard]] bool has_taken_one(DeviceId module, sim::EntryId before) const {
    const sim::EntryId mode = history_.last_mode(module, before);
    return mode != sim::no_entry && static_cast<ModeReason>(history_[mode].b) == ModeReason::assigned &&
           static_cast<Mode>(history_[mode].a) == Mode::normal;
  }

  /// No module had been in setup for it: any of them would have done.
  void any_module(sim::EntryId offer) {
    for (std::size_t i = 0; i < history_.site().modules.size(); ++i) {
      const DeviceId module = history_.site().module_id(i);
      if (!history_.site().is_neighbour(module)) missing_.not_in_setup(module, offer, history_[offer].at);
    }
  }

  void press_misread(const Observation& seen) {
    for (const sim::EntryId id : seen.evidence) {
      if (what(history_[id]) != What::misread) continue;
      const sim::Entry& entry = history_[id];
      happened_.step(id, describe(history_.scenario(), entry),
                     tr("{} at {}", describe(history_.scenario(), entry), clock_text(entry.at)));
      const bool believed_in_setup = entry.b != 0;
      if (believed_in_setup) {
        missing_.not_in_setup(entry.who, id, entry.at);
        belief(entry.who, id);
      } else if (const sim::EntryId mode = history_.last_mode(entry.who, id); mode != sim::no_entry) {
        happened_.mode(mode);
      }
    }
  }

  /// What made the installer believe that the device was in setup.
  void belief(DeviceId believed, sim::EntryId before) {
    for (sim::EntryId id = before; id-- > 1;) {
      if (what(history_[id]) != What::step || history_[id].who != 0) continue;
      const Step& step = history_.step_of(id);
      if (step.kind != StepKind::hold || step.device != believed) continue;
      return happened_.step(id, tr("the installer held {} and took it for in setup",
                                   buttons_text(history_.site(), believed, step.buttons)));
    }
  }

  void orphan(const Observation& seen) {
    happened_.address(device(), first_after(seen.at));
    for (DeviceId plate = 0; plate < history_.site().plates.size(); ++plate) {
      if (history_.last(What::switches, plate, first_after(seen.at)) != sim::no_entry) {
        happened_.switches(plate, first_after(seen.at));
      }
    }
  }

  void site_overlap(const Observation& seen) {
    for (const DeviceId plate : seen.devices) happened_.switches(plate, first_after(seen.at));
  }

  void bad_switches(const Observation& seen) {
    happened_.switches(device(), first_after(seen.at));
    each_last_mode(seen);
  }

  void each_lost(const Observation& seen) {
    for (const sim::EntryId id : seen.evidence) {
      const What kind = what(history_[id]);
      if (kind == What::lost) happened_.loss(id);
      if (kind == What::sent_whole && seen.id == FindingId::out_of_reach) happened_.sent(id);
      if (kind == What::gave_up || kind == What::dropped) happened_.not_sent(id);
      if (kind == What::power) happened_.step(id, describe(history_.scenario(), history_[id]));
    }
  }

  void blip_asleep(const Observation& seen) {
    const sim::EntryId bound = first_after(seen.at);
    const sim::EntryId unshown = history_.last(What::blip_unshown, device(), bound);
    if (unshown != sim::no_entry) asleep(unshown);
    const sim::EntryId looked = history_.last(bound, [&](const sim::Entry& entry) {
      return what(entry) == What::checked && history_.scenario().checks[entry.a].device == device();
    });
    if (looked != sim::no_entry) happened_.step(looked, tr("somebody looked at the lamp, and it was dark"));
  }

  /// Who said it, and how the module came to obey that plate.
  void not_understood(const Observation& seen) {
    happened_.heard(seen.evidence.back());
    happened_.address(device(), first_after(seen.at));
  }

  /// Who stored or called it, what moved the load then, how the module came to what it had.
  void scene(const Observation& seen) {
    for (const sim::EntryId id : seen.evidence) {
      const What kind = what(history_[id]);
      if (kind == What::lost) happened_.loss(id);
      if (kind == What::heard) happened_.heard(id);
    }
    const DeviceId module = history_.site().is_plate(device()) ? seen.devices.front() : device();
    const sim::EntryId last = seen.evidence.back();
    const std::uint8_t number = unpack(history_[last].b).argument;
    if (seen.id == FindingId::scene_in_motion) loads_.level(module, last);
    if (seen.id == FindingId::scene_of_before) loads_.scene(module, number, last);
    if (seen.id == FindingId::scene_of_before || seen.id == FindingId::scene_unset)
      happened_.address(module, last);
  }

  void scene_wrong(const Observation& seen) {
    const std::size_t index = history_.site().module_index(device());
    const unsigned wrong =
        wrong_scenes(history_.site().modules[index], course_.world.modules[index].newest());
    for (std::uint8_t i = 0; i < max_scenes; ++i) {
      if ((wrong >> i & 1U) != 0) loads_.scene(device(), static_cast<std::uint8_t>(i + 1), end());
    }
    if (seen.evidence.empty()) happened_.address(device(), end());
  }

  /// Who pressed it, and why those on the other side have the same site number.
  void master(const Observation& seen) {
    happened_.heard(seen.evidence.front());
    happened_.switches(seen.devices.front(), seen.evidence.front());
    for (std::size_t i = 1; i < seen.devices.size(); ++i)
      happened_.address(seen.devices[i], seen.evidence.front());
  }

  void powers_up_lit(const Observation& seen) {
    const sim::EntryId on = history_.last(What::power, device(), first_after(seen.at));
    if (on == sim::no_entry) return;
    loads_.by_power(device(), on);
    if (const sim::EntryId off = history_.last(What::power, device(), on); off != sim::no_entry) {
      happened_.step(off, tr("{}'s power went", history_.site().name(device())));
    }
  }

  void stuck(const Observation& seen) {
    const sim::EntryId down = history_.last(first_after(seen.at), [&](const sim::Entry& entry) {
      return what(entry) == What::contact && entry.who == device() && entry.b != 0;
    });
    if (down != sim::no_entry) {
      const std::string button =
          buttons_text(history_.site(), device(), only(static_cast<Button>(history_[down].a)));
      happened_.step(down, tr("{} went down and stayed down", button),
                     tr("{} went down at {} and stayed down{}", button, clock_text(history_[down].at),
                        history_.in_brackets(down)));
    }
  }

  void write_lost(const Observation& seen) {
    const sim::EntryId torn = history_.last(What::store_torn, device(), first_after(seen.at));
    if (torn != sim::no_entry) happened_.torn(torn);
  }

  const WhyQuestion& question_;
  Leads leads_;
  History history_;
  const Course& course_;
  Happened happened_;
  Missing missing_;
  Loads loads_;
};

}  // namespace

Leads leads_for(const WhyQuestion& question, const Altered& altered, const Course& course) {
  return Inquiry{question, altered, course}.leads();
}

std::vector<Telling> offers_told(const WhyQuestion& question, const Altered& altered, const Course& course) {
  const bool about_address =
      question.finding ? *question.finding == FindingId::unaddressed : question.fact == Fact::address;
  if (!about_address || altered.scenario().site.is_plate(question.device)) return {};
  const History history{altered, course.record};
  std::vector<Telling> told;
  for (const Offer& offer : offers_to(history, question.device, sim::no_entry, history.end())) {
    told.push_back({offer.at, describe(history, question.device, offer)});
  }
  return told;
}

}  // namespace drybus::model
