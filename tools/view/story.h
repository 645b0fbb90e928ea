// The story of a run: when, what was done, what was seen where; hidden truth marked as hidden.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/run/run.h"

namespace drybus::tools {

struct StoryLine {
  enum class Kind {
    done,    ///< what somebody did
    seen,    ///< what the installer could see where they stood
    hidden,  ///< what nobody on site can see
  };
  sim::Instant at{};
  Kind kind = Kind::done;
  std::string text;
  std::vector<sim::EntryId> entries;  ///< what it was made of
};

struct StorySpan {
  sim::Instant from = sim::start_of_run;
  sim::Instant to = sim::never;
};

/// The lines of the story in order of time. Beacons, and blips that say no more than their telegram, are left out.
std::vector<StoryLine> story_lines(const model::Scenario& scenario, const model::RunResult& result,
                                   const StorySpan& span = {});

/// Lines of a story in three columns: when, what was done, what was seen.
std::string story_table(const std::vector<StoryLine>& lines, std::size_t width = 110);

/// A block of YAML as paragraphs: line breaks are where its writer's editor ended, an empty line parts paragraphs.
std::string reflowed(std::string text);

/// From when until when, or until now: "at 1:00.0", "1:00.0 to 2:00.0", "from 1:00.0".
std::string span_words(sim::Instant at, const std::optional<sim::Instant>& until);

/// What a run came to, for its last line.
struct Verdict {
  bool passed = false;
  std::size_t checks = 0;
  std::size_t failed = 0;
  std::size_t findings = 0;
  std::string ended;  ///< on the run's clock
  std::string digest;
};
std::string verdict_words(const Verdict& verdict);

/// The word before a check that holds or fails, and blanks as wide as that.
std::string check_mark(bool passed);
std::string check_indent();

/// When a finding was so: "at 1:00.0", "1:00.0 to 2:00.0", or "from 1:00.0" when it still is.
std::string span_text(const model::Finding& finding);

/// The whole story as text, `width` columns wide: title, three columns, checks, findings, verdict.
std::string story_text(const model::Scenario& scenario, const model::RunResult& result, std::uint64_t seed,
                       const StorySpan& span = {}, std::size_t width = 110);

/// Only the checks that failed, the findings and the verdict.
std::string verdict_text(const model::Scenario& scenario, const model::RunResult& result,
                         std::size_t width = 110);

}  // namespace drybus::tools
