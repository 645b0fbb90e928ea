// A run as a hand-out for a class, in Markdown (GitHub's flavour, for its tables).
#pragma once

#include <string>
#include <string_view>

#include "model/run/run.h"

namespace drybus::tools {

struct HandoutOptions {
  std::string picture;           ///< a file beside the hand-out that shows the timeline; empty: none
  std::string scenario;          ///< the scenario's file, for the command that draws it
  std::string replay;            ///< the command that runs it again
  bool picture_is_part = false;  ///< of the run: its first chapter
};

/// Title, what it is about, the caution where hands go near wiring, who is on site, the story as a table, the
/// picture, what to learn from it, the checks, and how to replay it.
std::string handout(const model::Scenario& scenario, const model::RunResult& result, std::uint64_t seed,
                    const HandoutOptions& options);

/// Text as Markdown that shows just that text, on one line; it may stand at the beginning of a line or in a
/// table.
std::string markdown_escaped(std::string_view text);

/// Whether the run or what it teaches sends somebody to wiring, plates or power.
bool touches_wiring(const model::Scenario& scenario, const model::RunResult& result);

}  // namespace drybus::tools
