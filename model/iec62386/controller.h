// Whoever sends on the line, as a machine: which frame comes next, given what was answered. It draws nothing; when a frame
// may begin is the driver's business.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "model/iec62386/script.h"
#include "sim/event_queue.h"
#include "sim/record.h"

namespace drybus::iec62386 {

/// A round of addressing as far as it has come.
struct Round {
  enum class Phase : std::uint8_t { stock, open, search, name, close, over };
  AddressJob job;
  Phase phase = Phase::over;
  Searcher searcher;
  std::uint64_t taken = 0;        ///< a bit for each short address that is not to be given
  ShortAddress asked = 0;         ///< in the stock-taking, the next to ask for
  ShortAddress given = no_short;  ///< to the one that was found last
  std::uint32_t found = 0;
  std::uint32_t without_number = 0;  ///< found, when no number was left
  std::uint32_t unverified = 0;      ///< programmed, and silent when asked whether it is so
  friend bool operator==(const Round&, const Round&) = default;
};

struct Controller {
  enum class Job : std::uint8_t { none, frames, addressing, inventory };
  bool plugged = true;
  Job job = Job::none;
  Round round;
  std::vector<Send> sends;  ///< still to be sent, the next one first
  std::size_t next = 0;     ///< of them
  std::uint8_t times = 0;   ///< that it was sent already
  Priority priority = 3;
  bool begun = false;                                  ///< a frame of this transaction was sent
  bool asking = false;                                 ///< waits for an answer
  std::optional<std::uint8_t> answered;                ///< the last answer that could be read
  bool garbled = false;                                ///< the last one could not
  std::array<RandomAddress, short_addresses> known{};  ///< random addresses by short one; 0: not known
  ShortAddress reading = no_short;                     ///< whose random address is being read
  sim::EventQueue::Handle due = sim::EventQueue::none;
  std::uint16_t person = no_index;  ///< who waits for the job's end
  sim::EntryId cause = sim::no_entry;
  friend bool operator==(const Controller&, const Controller&) = default;

  /// What is to be told of what it did.
  struct Note {
    enum class Kind : std::uint8_t { nothing, found, no_number, not_verified, lamp_shown, read_back, over };
    Kind kind = Kind::nothing;
    std::uint32_t value = 0;
    std::uint32_t second = 0;
  };

  /// Begins a job. REQUIRES: it has none.
  void begin_frames(const std::vector<Send>& frames);
  void begin_addressing(const AddressJob& round_job);
  void begin_inventory();

  /// The frame to send next, or nothing: it waits for somebody to name a lamp, or is through (job: none). Notes tell of
  /// what was decided meanwhile.
  const Send* look_ahead(std::vector<Note>& notes);

  /// The frame was sent, as often as it has to be or not yet.
  void sent();

  /// What came of a frame that asks for an answer.
  void heard(const sim::Heard& answer, std::vector<Note>& notes);

  /// The installer names the lamp that shows itself. REQUIRES: the round is at that point.
  void name(ShortAddress wanted, std::vector<Note>& notes);

  /// Stops at once, wherever it is.
  void stop();

 private:
  void advance_round(std::vector<Note>& notes);
  void advance_inventory();
  void open_round();
  void give_number(std::vector<Note>& notes);
  void leave_found();
  void push(const BitFrame& frame, std::uint8_t as_often = 1, bool wants_answer = false,
            sim::Duration then_wait = {});
  void verified(bool yes_it_is, std::vector<Note>& notes);
};

}  // namespace drybus::iec62386
