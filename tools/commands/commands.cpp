#include <array>

#include "model/words/words.h"
#include "tools/commands/bridge.h"
#include "tools/commands/command.h"
#include "tools/commands/handing_out.h"
#include "tools/commands/lesson_commands.h"
#include "tools/commands/site_commands.h"

namespace drybus::tools {

using model::msg;

std::span<const Command> commands() {
  static constexpr std::array table = {
      Command{"run", "SCENARIO", msg("run it at once: the story, the checks, the findings"), run_command},
      Command{"check", "PATH...", msg("run every scenario below the paths, a line each"), check_command},
      Command{"why", "SCENARIO DEVICE.FACT", msg("the chain of causes behind a fact or a finding"),
              why_command},
      Command{"call", "[FILE]", msg("one guided repair: the call, checks, the cure step by step, the proof"),
              call_command},
      Command{"diagnose", "REPORT", msg("what could explain what was seen, and the next best check"),
              diagnose_command},
      Command{"diff", "A B", msg("the first event at which two runs part, with both sides' causes"),
              diff_command},
      Command{"compare", "--firmware A --firmware B PATH...",
              msg("where two device logics part, in what can be seen or heard"), compare_command},
      Command{"bridge", "SCENARIO --port WHERE --as DEVICE",
              msg("another process or a board as one device of the bus"), bridge_command},
      Command{"draw", "SCENARIO -o FILE", msg("the timeline as a picture: .svg, or .html to point at"),
              draw_command},
      Command{"panel", "SCENARIO|LESSON|FOLDER",
              msg("a live page in the browser: press, hold, see, step back"), panel_command},
      Command{"teach", "LESSON",
              msg("a lesson checked and played without a browser; a pupil's answers judged"), teach_command},
      Command{"exercise", "[SITE]", msg("a site with something hidden in it, found and put right on site"),
              exercise_command},
      Command{"lesson", "LESSON -o FILE.html",
              msg("a lesson as one page that is the bench: no server, no network"), lesson_command},
      Command{"shrink", "SCENARIO", msg("the smallest scenario that still fails the same way"),
              shrink_command},
      Command{"hunt", "SCENARIO --for WHAT",
              msg("the shortest way to break an invariant, as a scenario that replays"), hunt_command},
      Command{"sweep", "SCENARIO",
              msg("many runs with people's timing and slips: how often each finding comes of it"),
              sweep_command},
      Command{"recover", "SCENARIO|REPORT",
              msg("the quickest way to put right what is out of step, as told by telephone"),
              recover_command},
      Command{"site", "SCHEDULE|new|compare",
              msg("a site from a spreadsheet, asked for, or two records of one compared"), site_command,
              "new compare"},
      Command{"plan", "SITE",
              msg("before anything is touched: addresses, switch settings, the route, its risks"),
              plan_command},
      Command{"family", "FILE [OTHER]",
              msg("a device family read back in words and drawn; what is doubtful; where two part"),
              family_command},
      Command{"handover", "SITE",
              msg("the shortest round of presses and looks that proves a site right, to tick and sign"),
              handover_command},
      Command{"switches", "NUMBER",
              msg("how a site or zone number is set on a plate's switches, and the other way about"),
              switches_command},
      Command{"building", "[options]",
              msg("a made-up building of any size on an ordinary day, as a scenario"), building_command},
  };
  return table;
}

std::span<const Command> hidden_commands() {
  static constexpr std::array table = {
      Command{"names", "WHAT [SCENARIO]", msg("the names that could be meant, a line each, for completions"),
              names_command},
      Command{"reference", "KIND FOLDER", msg("manual pages, completions or the reference, made from help"),
              reference_command},
  };
  return table;
}

}  // namespace drybus::tools
