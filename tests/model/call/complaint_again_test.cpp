// What somebody called for is tried once more in the proof, unless the proof tries it anyway.
#include "model/call/complaint_again.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "model/call/actions.h"
#include "model/call/guide.h"
#include "model/world/simulation.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;
using namespace std::chrono_literals;

/// A report of one plate and its modules, with one complaint put in the place of all that was said.
Report report_with(const Seen& complaint, std::vector<Step> script) {
  Report report =
      tools::load_report(DRYBUS_SOURCE_DIR "/scenarios/reports/the-fourth-just-sits-there.yaml").call;
  report.seen = {complaint};
  report.believed.people.front().script = std::move(script);
  return report;
}

/// As the site is meant to be: every module holds what it shall.
World sound(const Report& report) {
  World world = initial_world(report.believed);
  for (std::size_t i = 0; i < report.believed.site.modules.size(); ++i) {
    if (report.believed.site.modules[i].intended)
      world.modules[i].memory.address = *report.believed.site.modules[i].intended;
  }
  return world;
}

Seen complaint_of(DeviceId device, Fact fact, std::string what, std::optional<std::uint32_t> after = {}) {
  return {device, fact, std::move(what), after, false, {}, true};
}

std::vector<Question> asked_of(const Seen& complaint, std::vector<Step> script) {
  const Report report = report_with(complaint, std::move(script));
  return complaints_again(report, sound(report), {});
}

DeviceId first_module() {
  return report_with({}, {}).believed.site.module_id(0);
}

}  // namespace

TEST_CASE("a lamp that somebody called for is looked at once more when all is right") {
  const auto asked = asked_of(complaint_of(first_module(), Fact::indicator, "blink"), {});
  REQUIRE(asked.size() == 1);
  CHECK(asked[0].about == Asked::proof);
  CHECK(asked[0].text.find("ook once more") != std::string::npos);
  CHECK(asked[0].yes.front().what == "dark");
}

TEST_CASE("a press that put nothing on is made again, and what it does when all is right is asked") {
  const Report blank = report_with({}, {});
  const DeviceId plate = 0;
  const PlateFamily& family = blank.believed.site.plate_family(plate);
  const auto on = button_that(family, Command::on);
  REQUIRE(on);
  const Step press = pressing(plate, only(*on), blank.believed.times);
  const Seen complaint = complaint_of(first_module(), Fact::load, "dark", 1);

  const auto asked = asked_of(complaint, {press, waiting(2s)});
  REQUIRE(asked.size() == 1);
  CHECK(asked[0].yes.front().what == "lit");
  CHECK(asked[0].no == std::vector<std::string>{"dark"});

  SUBCASE("not where the proof has it already") {
    const Report report = report_with(complaint, {press, waiting(2s)});
    CHECK(complaints_again(report, sound(report), asked).empty());
  }
  SUBCASE("not what was pressed in the midst of setup, which nobody can do again by itself") {
    const Step gesture = push_step(StepKind::hold, plate, family.setup_gesture, family.setup_hold + 1s);
    Seen later = complaint;
    later.after_step = 2;
    CHECK(asked_of(later, {gesture, press, waiting(2s)}).empty());
  }
  SUBCASE("nor where right looks as it was complained of") {
    CHECK(asked_of(complaint_of(first_module(), Fact::load, "lit", 1), {press, waiting(2s)}).empty());
  }
}

TEST_CASE("after a power cut that somebody called for the supply is switched again, with its cautions") {
  Step off;
  off.kind = StepKind::power;
  off.on = false;
  Step on = off;
  on.on = true;
  const Report blank = report_with({}, {});
  const World before = sound(blank);
  const Seen complaint = complaint_of(first_module(), Fact::indicator, "blink", 1);
  const auto asked = asked_of(complaint, {off, on});
  REQUIRE(asked.size() == 1);
  CHECK(asked[0].text.find("Touch no wiring and open nothing") != std::string::npos);
  CHECK(asked[0].yes.front().what != "blink");
}
