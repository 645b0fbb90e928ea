// A handover as it is told: the round, line by line, and how much it proves.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "model/handover/round.h"
#include "tools/view/plan_report.h"

namespace drybus::tools {

/// One line of the round: what to do, what is to be seen. Lines with something to be seen have a number and a box.
struct HandoverLine {
  std::uint32_t act = 0;
  std::uint32_t number = 0;  ///< from 1; 0: nothing to tick
  std::string place;         ///< where it is done; a heading where it changes
  std::string todo;
  std::string seen;
  std::vector<std::uint32_t> checks;  ///< of the round's scenario
};

struct HandoverReport {
  PlanReport plan;
  model::BuiltSite built;
  model::RoundScript round;
  model::RoundChoice proof;  ///< added up over the parts of a large site
  std::size_t parts = 1;     ///< zone by zone, where the site is large
  sim::Duration everything{};
  std::vector<HandoverLine> lines;
};

/// Lines of a round. REQUIRES: report.built and report.round are there.
std::vector<HandoverLine> handover_lines(const HandoverReport& report);

/// What has to be known before anybody presses anything: isolation, loads that are left alone, what is not proved.
std::vector<std::string> handover_cautions(const HandoverReport& report);

/// How much the round proves, in sentences.
std::vector<std::string> proof_sentences(const HandoverReport& report);

std::string handover_text(const HandoverReport& report);
std::string handover_json(const HandoverReport& report);

/// "about 4 min", as finely as anybody can promise.
std::string about_text(sim::Duration duration);

}  // namespace drybus::tools
