#include "tools/view/handout.h"

#include <doctest/doctest.h>

#include "model/run/run.h"
#include "tests/support/program.h"
#include "tests/support/small_site.h"
#include "tests/support/text.h"

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;
using tools::markdown_escaped;

TEST_SUITE("exports") {
  TEST_CASE("what somebody wrote shows in Markdown as it was written") {
    CHECK(markdown_escaped("plain words, 23/4/1") == "plain words, 23/4/1");
    CHECK(markdown_escaped("*a* _b_ `c` <d> [e](f) |g| ~h~ &i; $j$ #k \\l") ==
          "\\*a\\* \\_b\\_ \\`c\\` &lt;d\\> \\[e\\](f) \\|g\\| \\~h\\~ \\&i; \\$j\\$ \\#k \\\\l");
    CHECK(markdown_escaped("http://x www.x.org 0:01.5") == "http\\://x www\\.x.org 0:01.5");
    CHECK(markdown_escaped("- a") == "\\- a");
    CHECK(markdown_escaped("+ a") == "\\+ a");
    CHECK(markdown_escaped("===") == "\\===");
    CHECK(markdown_escaped("12. a") == "12\\. a");
    CHECK(markdown_escaped("12) a") == "12\\) a");
    CHECK(markdown_escaped("12 a") == "12 a");
    CHECK(markdown_escaped("  two\n\n  lines\t ") == "two lines");
    CHECK(markdown_escaped("bell\x07") == "bell?");
    CHECK(markdown_escaped("") == "");
  }

  TEST_CASE("a hand-out has its parts in order") {
    model::Scenario scenario = small_scenario(2);
    scenario.title = "Small & *bright*";
    scenario.about = "First\nparagraph.\n\n- no list\n";
    Script script{scenario};
    address(script, "P1", "M1", 1);
    script.look("M1", model::Fact::indicator, "blink");
    const model::RunResult result = model::run(scenario);
    const std::string text = tools::handout(scenario, result, 1, {"a b.svg", "s.yaml", "drybus run s.yaml"});
    CHECK(text.starts_with("# Small \\& \\*bright\\*\n\nFirst paragraph.\n\n\\- no list\n\n## On site\n"));
    std::size_t before = 0;
    for (const char* part : {"## On site", "| M1 |", "## What happened", "hold P1 set for 3 s",
                             "](a%20b.svg)", "## What to learn", "### unaddressed", "**Remedy.**",
                             "## Checks", "**no**: in fact", "digest `", "    drybus run s.yaml"}) {
      CAPTURE(part);
      const std::size_t at = text.find(part, before);
      REQUIRE(at != std::string::npos);
      before = at;
    }
  }

  TEST_CASE(
      "the caution stands in a hand-out that sends somebody to wiring, plates or power, and in no other") {
    const std::string caution{model::safety_caution};
    model::Scenario quiet = small_scenario(1);
    quiet.site.modules[0].memory.address = {23, 4, 1};
    Script{quiet}.press("P1", up).wait(1s);
    const auto text_of = [](const model::Scenario& scenario) {
      return tools::handout(scenario, model::run(scenario), 1, {});
    };
    CHECK_FALSE(has(text_of(quiet), caution));
    model::Scenario power = quiet;
    Script{power}.power("M1", false);
    CHECK(has(text_of(power), caution));
    model::Scenario switches = quiet;
    Script{switches}.switches("P1", 23, 5);
    CHECK(has(text_of(switches), caution));
    model::Scenario wiring = quiet;
    model::Fault fault;
    fault.kind = model::FaultKind::open;
    Script{wiring}.fault(fault);
    CHECK(has(text_of(wiring), caution));
    model::Scenario remedy = quiet;
    remedy.site.plates[0].site =
        remedy.site.family.module.factory_site;  // "set its switches to another number"
    CHECK(has(text_of(remedy), caution));
  }

  TEST_CASE("drybus run --format markdown -o writes the hand-out with its picture beside it") {
    const Ran ran = shell(
        "t=$(mktemp -d) && drybus run scenarios/training/setup-split.yaml --format markdown -o $t/class.md "
        "&& ls $t && "
        "grep -c '](class.svg)' $t/class.md && head -c 4 $t/class.svg && rm -r $t");
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.starts_with("class.md\nclass.svg\n1\n<"));
  }
}
