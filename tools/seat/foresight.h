// One turn of a main loop gone through instruction by instruction, to see for how many of the next ones it would be the same
// instructions that do the same: a proof, of what the processor does, that they can be left out.
//
// What is in the library's counters, and what the host's clocks say, grows by the same amount from turn to turn. What is made of it
// by adding, taking away, multiplying by a constant and the like grows so, too; whatever else is made of it must stay as it is, and
// so must every jump; for each the turns are counted for which that holds (growing.h). Whoever does with it what is not known here
// gets no answer: then turns are gone through as ever. The processor itself stops after each instruction (the trap flag), so only what
// is done with numbers that grow has to be known, and nothing is made up.
//
// Written for x86-64; elsewhere nothing is foreseen.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>

#include "model/firmware/logic.h"

namespace drybus::tools {

/// A word of 4 bytes that grows with each turn.
struct GrowingWord {
  std::uintptr_t at = 0;
  std::uint32_t by = 0;
};

/// What is to be foreseen.
struct Foreseeing {
  const model::FirmwareCall& call;
  void* state;                                      ///< what it is handed
  std::span<const GrowingWord> words;               ///< grow so from round to round
  std::span<const std::span<std::byte>> variables;  ///< in which nothing else grows
  sim::Duration period;                             ///< from call to call
  std::uint64_t round;                              ///< so many calls are one round
  const std::function<bool()>& goes_on;             ///< asked after each call that is made
};

/// Makes the calls of one round and returns for how many rounds the same instructions would do the same, if the host answers as it
/// does now but for its clocks. 0: that is not known. REQUIRES: the guard's signal handlers are there, and way.active.
std::uint64_t foresee(const Foreseeing& wanted);

/// After a turn that did not come to its end.
void forget_foresight();

/// For the handler of SIGTRAP: the next instruction of a turn that is being foreseen. False: there is none.
bool foresee_instruction(void* context);

#if !defined(__x86_64__)
inline std::uint64_t foresee(const Foreseeing&) {
  return 0;
}
inline void forget_foresight() {}
inline bool foresee_instruction(void*) {
  return false;
}
#endif

}  // namespace drybus::tools
