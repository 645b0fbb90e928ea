// What may be answered to a question or a step of a guided repair, and the evidence that an answer becomes. Whoever holds
// the conversation, at a terminal or on a page, asks here.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/call/guide.h"

namespace drybus::tools {

/// An answer by its word, which files have, and what else people call it. The words that are spoken are taken besides.
struct Choice {
  std::string_view word;
  std::array<std::string_view, 3> also;
};
/// To a question: yes, no, something else, cannot; back and quit besides.
std::span<const Choice> choices_of_a_look();
/// To a step of a cure: done, not so; back and quit besides.
std::span<const Choice> choices_of_a_step();
/// Those of where the call stands; none where nothing is asked.
std::span<const Choice> choices_of(const model::CallState& state);

/// The word of the choice that somebody means; empty: none of them.
std::string_view chosen(std::span<const Choice> choices, std::string_view line);
/// A choice in the words spoken; a word that is none of them as it is.
std::string spoken_choice(std::string_view word);
/// "yes / no / something else", in the words spoken
std::string offered(std::span<const Choice> choices);

/// What has to be asked before an answer is complete.
enum class Lacking {
  nothing,
  sight,    ///< what is seen instead
  switches  ///< the numbers that a plate's switches show
};
/// `answer`: a word of the choices. REQUIRES: a question or a step stands.
Lacking lacking(const model::CallState& state, std::string_view answer);
/// "What is seen instead?"
std::string asks_for_more(const model::CallState& state, std::string_view answer);

/// What a look is asked for; nothing where several things are, or none.
std::optional<model::Seen> asked_for(const model::CallState& state);

/// What may be seen instead of what was asked about or should show, the likeliest first.
std::vector<model::Seen> seen_instead(const model::Site& site, const model::CallState& state);
/// Each in words: "its lamp blinks" where all are of one device, else with the device's name.
std::vector<std::string> in_words(const model::Site& site, const std::vector<model::Seen>& offers);

/// What makes an answer complete.
struct Sighting {
  std::vector<model::Seen> seen;
  std::vector<model::SwitchReading> read;
};
/// The evidence that it is. REQUIRES: a question or a step stands, and `sighting` has what is lacking.
model::CallAnswer reply_to(const model::CallState& state, std::string_view answer,
                           const Sighting& sighting = {});

}  // namespace drybus::tools
