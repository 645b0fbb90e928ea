// The examples of manual pages and reference. Paths are those of the source folder; an installed drybus has the same files
// below share/drybus.
#include <algorithm>
#include <array>
#include <iterator>

#include "tools/reference/manual.h"

namespace drybus::tools {

namespace {

constexpr std::array all = {
    Example{"run", "drybus run scenarios/training/setup-split.yaml --from 3min",
            "The story from its third minute on, with what was found"},
    Example{"run", "drybus run scenarios/training/zone-zero.yaml --format json", "The same for programs"},
    Example{"check", "drybus check scenarios/training", "Every scenario below a folder, a line each"},
    Example{"why", "drybus why scenarios/training/telegram-lost.yaml M2.address",
            "What made it that this module has no address"},
    Example{"diagnose", "drybus diagnose scenarios/reports/the-fourth-just-sits-there.yaml --top 3",
            "The three likeliest explanations of a call, and what to ask next"},
    Example{"call", "drybus call scenarios/reports/the-fourth-just-sits-there.yaml --format json",
            "Where a call stands: what to ask next, and what could explain it"},
    Example{"diff", "drybus diff scenarios/training/setup-split.yaml scenarios/training/unaddressed.yaml",
            "Where two runs part"},
    Example{"draw", "drybus draw scenarios/training/setup-split.yaml -o /tmp/drybus-example.svg",
            "The timeline as a picture"},
    Example{"teach", "drybus teach scenarios/lessons/one-step-too-far.yaml",
            "At which stop which question is asked, and what is right there"},
    Example{
        "teach",
        "drybus teach scenarios/lessons/one-step-too-far.yaml --sheet /tmp/drybus-sheet.html --answer-sheet "
        "/tmp/drybus-answers.html",
        "The lesson on paper: a sheet to fill in, and one with the answers"},
    Example{"draw", "drybus draw scenarios/regression/install-wired.yaml -o /tmp/drybus-example.html",
            "A day on a large site, in chapters"},
    Example{"hunt", "drybus hunt scenarios/regression/hunt-start.yaml --for zone-zero --depth 4",
            "The shortest way to that finding, in four moves at most"},
    Example{"sweep", "drybus sweep scenarios/training/first-steps.yaml --runs 500",
            "How often an install without a mistake ends with one, people being people"},
    Example{"sweep", "drybus sweep scenarios/training/first-steps.yaml --runs 200 --vary time_out=20s..60s/2",
            "The same for two values of a time-out"},
    Example{"recover", "drybus recover scenarios/training/unaddressed.yaml",
            "The quickest cure, as told by telephone"},
    Example{"site", "drybus site scenarios/sites/house.csv -o /tmp/drybus-house.yaml",
            "A site of what a spreadsheet says"},
    Example{"site compare",
            "drybus site compare scenarios/sites/village-hall.yaml scenarios/sites/village-hall.yaml",
            "What has changed between two records of a site"},
    Example{"plan", "drybus plan scenarios/sites/village-hall.yaml --runs 100",
            "Addresses, switches and the route for a site"},
    Example{"family", "drybus family wired-keypad", "A family read back in words"},
    Example{"handover", "drybus handover scenarios/sites/village-hall.yaml --pairs 0",
            "The round that proves the site right"},
    Example{"switches", "drybus switches 23 --family wired-keypad", "How a plate's switches are set for 23"},
    Example{"building", "drybus building --plates 2 --modules 6 -o /tmp/drybus-building.yaml",
            "A made-up building"},
};

}  // namespace

std::vector<Example> examples_of(std::string_view command) {
  std::vector<Example> examples;
  std::copy_if(all.begin(), all.end(), std::back_inserter(examples),
               [&](const Example& each) { return each.command == command; });
  return examples;
}

}  // namespace drybus::tools
