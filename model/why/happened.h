// From something that happened back to what may have caused it, along the record.
#pragma once

#include "model/why/history.h"
#include "model/why/lead.h"

namespace drybus::model {

/// Collects leads. The order is that of the chain: what is nearest to the fact comes first.
class Happened {
 public:
  /// `focus` is called "it" in clauses; `needed_at` is when it would have had to be otherwise. All must outlive this.
  Happened(const History& history, Leads& leads, DeviceId focus, sim::Instant needed_at)
      : history_(history), leads_(leads), focus_(focus), needed_at_(needed_at) {}

  /// Later leads belong to another explanation.
  void next_group() { ++group_; }

  /// A What::mode entry: how setup began or ended.
  void mode(sim::EntryId id);
  /// A What::heard entry: who sent it, and what made the sender send just that.
  void heard(sim::EntryId id);
  /// A What::stored entry that changed the address.
  void stored(sim::EntryId id);
  /// A What::store_torn entry.
  void torn(sim::EntryId id);
  /// A telegram that was handed to the medium: any entry from What::queued to What::sent_whole.
  void sent(sim::EntryId id);
  /// The two halves of that: whose doing it was, and what the sender was like.
  void said(sim::EntryId id);
  void sender_was(sim::EntryId id);
  /// A What::lost entry: that it did not arrive, and why.
  void lost(sim::EntryId id);
  /// The same where the loss itself is what is asked about.
  void loss(sim::EntryId id);
  /// A What::gave_up or What::dropped entry.
  void not_sent(sim::EntryId id);
  /// A What::refused entry.
  void refused(sim::EntryId id);
  /// How the address of a module, or a plate's switches, came to be what they were before an entry.
  void address(DeviceId module, sim::EntryId before);
  void switches(DeviceId plate, sim::EntryId before);
  /// The same for a module's power-up mode.
  void power_up(DeviceId module, sim::EntryId before);
  /// How a plate's channel came to be what it was.
  void channel(DeviceId plate, sim::EntryId before);
  /// Anything that a step led to, in the words of the record.
  void step(sim::EntryId id, std::string text, std::string clause = {});
  /// Whatever is added next explains what was added last.
  void deeper() { deeper_ = true; }
  /// Waits and walks between two entries.
  void dwelling(sim::EntryId from, sim::EntryId to);
  /// The memory of a module, or the switches of a plate, as the run began.
  void memory_at_start(DeviceId module);
  void power_up_at_start(DeviceId module);
  [[nodiscard]] PowerUp power_up_held(DeviceId module, sim::EntryId before) const;
  [[nodiscard]] std::uint8_t site_number_held(DeviceId module, sim::EntryId before) const;
  void switches_at_start(DeviceId plate);

  void add(Lead lead);

  /// "it" or "M2"; "its" or "M2's".
  [[nodiscard]] std::string who(DeviceId device) const;
  [[nodiscard]] std::string whose(DeviceId device) const;
  [[nodiscard]] std::string name_with_s(DeviceId device) const;
  [[nodiscard]] const std::string& name(DeviceId device) const { return history_.site().name(device); }
  [[nodiscard]] const History& history() const { return history_; }
  [[nodiscard]] sim::Instant needed_at() const { return needed_at_; }

  /// Without what the step did: "without the press of P1 accept at 3:42.0".
  [[nodiscard]] Way without(sim::EntryId step_entry) const;

 private:
  void timed_out(sim::EntryId id);
  void taken(sim::EntryId assign);
  void took(sim::EntryId assign);
  void clock_started(sim::EntryId started, DeviceId device);
  [[nodiscard]] sim::EntryId handed_over(sim::EntryId lost) const;
  void lost_for(sim::EntryId id, sim::Loss loss);
  void links_between(sim::EntryId before);
  void rivals(sim::EntryId id);

  const History& history_;
  Leads& leads_;
  DeviceId focus_;
  sim::Instant needed_at_;
  std::uint32_t group_ = 0;
  bool deeper_ = false;
};

/// The same things done by somebody else so that they are over at `by`; nothing when there is not enough time before.
std::optional<Change> done_by(std::vector<Step> steps, sim::Instant by, const HumanTimes& times);

/// What puts a device in setup, done by somebody who stands before it.
std::vector<Step> setup_steps(const History& history, DeviceId device);

}  // namespace drybus::model
