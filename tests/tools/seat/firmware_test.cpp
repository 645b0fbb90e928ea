// Firmware from shared libraries: the samples of tests/firmware in place of the built-in devices, what
// happens to libraries that do not fit, and to handlers that do what they must not.
#include <doctest/doctest.h>

#include <array>
#include <boost/json.hpp>
#include <filesystem>
#include <string>
#include <vector>

#include "model/hunt/tell_apart.h"
#include "model/record/observables.h"
#include "model/run/run.h"
#include "tests/support/files.h"
#include "tests/support/printing.h"
#include "tests/support/program.h"
#include "tests/support/small_site.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/options/firmware_choice.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
namespace fs = std::filesystem;
namespace json = boost::json;

// ThreadSanitizer holds back a signal until the program calls something of the system's, and this one is the guard's only
// way out of a handler that spins.
#if defined(__has_feature)
#if __has_feature(thread_sanitizer)
#define DRYBUS_THREAD_SANITIZER
#endif
#endif
#ifdef DRYBUS_THREAD_SANITIZER
constexpr bool clock_reaches_a_spinning_handler = false;
#else
constexpr bool clock_reaches_a_spinning_handler = true;
#endif

std::string library(const std::string& name) {
  return (fs::path{DRYBUS_PROGRAM}.parent_path() / "firmware" / (name + ".so")).string();
}

std::vector<std::string> suite() {
  return tools::scenario_files(std::vector<std::string>{DRYBUS_SOURCE_DIR "/scenarios"});
}

std::string observed(const model::Scenario& scenario) {
  return model::observable_digest(model::run(scenario).record).hex();
}

std::string two_modules(const std::string& script) {
  return "drybus: 1\ntitle: Two modules\nfamily: wired-keypad\nseed: 3\nsite:\n  places: {hall: {}}\n  "
         "plates:\n"
         "    P1: {place: hall, switches: {site: 23, zone: 4}}\n  modules:\n    M1: {place: hall, intended: "
         "23/4/1}\n"
         "    M2: {place: hall, intended: 23/4/2}\n  bus: {line: [P1, M1, M2]}\nscript:\n" +
         script;
}

const std::string two_presses = two_modules("  - press: M1 local\n  - press: M1 local\n  - wait: 1s\n");
const std::string no_press = two_modules("  - press: P1 off\n  - wait: 1s\n");

/// A firmware does not tell its scenes, so what is found about them is found with the built-in devices only.
bool is_about_scenes(const model::Finding& finding) {
  return model::to_string(finding.id).starts_with("scene-");
}

/// Keys for more than one zone are no part of the interface.
bool has_masters(const model::PlateFamily& plate) {
  const auto speaks_for_more = [](const model::Binding& binding) {
    return binding.whom != model::Whom::zone;
  };
  return std::any_of(plate.press.begin(), plate.press.end(), speaks_for_more) ||
         std::any_of(plate.hold.begin(), plate.hold.end(), speaks_for_more);
}

/// The sample firmware is written for the usual machines: a hold leads to setup, and an offer is taken at once.
bool is_usual(const model::Scenario& scenario) {
  const model::Site& site = scenario.site;
  const std::vector<model::Finding> found = model::run(scenario).findings;
  if (has_masters(site.family.plate) || std::any_of(found.begin(), found.end(), is_about_scenes))
    return false;
  const model::ModuleFamily& module = site.family.module;
  return site.other_families.empty() && module.supply_gesture.times == 0 &&
         module.ask == sim::Duration::zero() && module.confirm == sim::Duration::zero();
}

void same_on_whole_suite(const std::string& firmware) {
  const tools::FirmwareChoice choice{{firmware}};
  std::size_t compared = 0;
  for (const std::string& path : suite()) {
    const model::Scenario built_in = tools::load_scenario(path).scenario;
    if (!is_usual(built_in)) continue;
    model::Scenario scenario = built_in;
    choice.put_in(scenario);
    const model::RunResult result = model::run(scenario);
    CHECK_MESSAGE(result.passed(), path);
    CHECK_MESSAGE(model::observable_digest(result.record).hex() == observed(built_in), path);
    ++compared;
  }
  CHECK(compared > 35);
}

/// The fewest moves that show a mistake, on a site of one plate and one module.
struct Planted {
  int number;
  const char* budget_kind;  ///< a kind of move that is needed beside the usual ones, once
  std::size_t moves;
};

model::TellApartResult tell_apart_from_reference(const Planted& mistake) {
  model::Scenario reference = small_scenario(1);
  model::Scenario planted = reference;
  tools::FirmwareChoice{{library("reference")}}.put_in(reference);
  tools::FirmwareChoice{{library("planted_" + std::to_string(mistake.number))}}.put_in(planted);
  model::TellApartOptions options;
  if (const auto kind = model::parse_move_kind(mistake.budget_kind)) options.budget[*kind] = 1;
  return model::tell_apart(reference, planted, options);
}

}  // namespace

TEST_SUITE("firmware") {
  TEST_CASE("the reference firmware cannot be told from the built-in devices on any scenario") {
    same_on_whole_suite(library("reference"));
    same_on_whole_suite("plate=" + library("reference"));
  }

  TEST_CASE("a library that was built for the last version of the interface goes on as it did") {
    same_on_whole_suite(library("built_for_1_0"));
    same_on_whole_suite(library("built_for_1_1"));
    const Ran tomorrow = drybus_program("run scenarios/training/setup-split.yaml --firmware module=" +
                                        library("built_for_tomorrow"));
    CHECK(tomorrow.exit_code == 2);
    CHECK_MESSAGE(tomorrow.err.find("built against a newer firmware.h than this drybus") != std::string::npos,
                  tomorrow.err);
    const Ran version = drybus_program("--version");
    CHECK_MESSAGE(version.out.find("firmware interface 1.2 (takes libraries built for 1.0 and later)") !=
                      std::string::npos,
                  version.out);
  }

  TEST_CASE("a module's firmware is tried alone on a site without a plate") {
    CHECK(drybus_program("check tests/firmware/template/alone.yaml").exit_code ==
          1);  // ours is lit from the box
    const Folder folder;
    const std::string alone = folder.write(
        "alone.yaml",
        "drybus: 1\nfamily: wired-keypad\nsite:\n  plates: {}\n  modules: {M1: {intended: 23/4/1}}\n"
        "script:\n  - hold: M1 local\n    for: 3.7s\n  - see: {M1.indicator: blink}\n"
        "  - expect: {M1.mode: setup}\n");
    CHECK(drybus_program("check " + alone + " --firmware module=" + library("reference")).exit_code == 0);
  }

  TEST_CASE(
      "a module that keeps its state in variables of its own cannot be told from the built-in one, either") {
    same_on_whole_suite("module=" + library("own_variables"));
  }

  TEST_CASE("every planted mistake is found by a hunt, in the fewest moves") {
    static constexpr std::array mistakes = {
        Planted{1, "",
                3},  // module in setup, plate in setup (whose beacons it hears), wait beyond the time-out
        Planted{2, "", 3},       // plate in setup, next, identify
        Planted{3, "", 2},       // plate in setup, assign
        Planted{4, "loss", 5},   // both in setup, next, the module misses the next telegram, assign
        Planted{5, "power", 3},  // module in setup, power off, power on
        Planted{6, "power", 6},  // both in setup, next, assign, power off, power on
        Planted{7, "", 4},       // both in setup, next, assign
        Planted{8, "", 2},       // plate in setup, wait beyond the time-out
    };
    for (const Planted& mistake : mistakes) {
      CAPTURE(mistake.number);
      const model::TellApartResult result = tell_apart_from_reference(mistake);
      REQUIRE(result.search.end == sim::SearchEnd::broken);
      CHECK_FALSE(result.already);
      CHECK(result.steps.size() == mistake.moves);
      // What was found replays: the reference does as the scenario expects, and the mistake shows.
      const model::RunResult good = model::run(result.found);
      CHECK(good.passed());
      model::Scenario again = result.found;
      tools::FirmwareChoice{{library("planted_" + std::to_string(mistake.number))}}.put_in(again);
      CHECK(observed(again) != model::observable_digest(good.record).hex());
    }
  }

  TEST_CASE("the suite alone finds each planted mistake, too") {
    for (int number = 1; number <= 8; ++number) {
      CAPTURE(number);
      const tools::FirmwareChoice choice{{library("planted_" + std::to_string(number))}};
      std::size_t failed = 0;
      for (const std::string& path : suite()) {
        model::Scenario scenario = tools::load_scenario(path).scenario;
        choice.put_in(scenario);
        if (!model::run(scenario).passed()) ++failed;
      }
      CHECK(failed > 0);
    }
  }

  TEST_CASE("no hunt tells the reference from the built-in devices within five moves") {
    model::Scenario reference = small_scenario(1);
    const model::Scenario built_in = reference;
    tools::FirmwareChoice{{library("reference")}}.put_in(reference);
    model::TellApartOptions options;
    options.budget[model::MoveKind::power] = 1;
    options.budget[model::MoveKind::loss] = 1;
    options.bounds.depth = 5;
    const model::TellApartResult result = model::tell_apart(built_in, reference, options);
    CHECK(result.search.end == sim::SearchEnd::depth);
    CHECK(result.search.progress.states > 1000);
  }

  TEST_CASE("a handler that does what it must not fails its scenario, and the others still run") {
    struct Offence {
      int number;
      const char* says;
    };
    static constexpr std::array offences = {
        Offence{1, "crashes (SIGSEGV"},
        Offence{2, "crashes (SIGFPE"},
        Offence{3, "does not return within 1 s"},
        Offence{4, "reads or writes past the end of its block"},
        Offence{5, "reads or writes past the end of its block"},
        Offence{6, "writes before the beginning of its block"},
        Offence{7, "writes to a variable outside its block"},
        Offence{8, "allocates memory"},
        Offence{9, "allocates memory"},
        Offence{10, "ends the program"},
        Offence{11, "gives up (abort)"},
        Offence{12, "fails an assertion of its own"},
        Offence{13, "runs out of stack"},
        Offence{14, "asks the computer for the time"},
        Offence{15, "asks for more than 24 things in one handler"},
        Offence{16, "starts a timer that does not exist"},
        Offence{17, "starts a timer for less than a microsecond"},
        Offence{18, "sends a telegram of a kind that does not exist"},
        Offence{19, "reads beyond the end of its memory"},
        Offence{22, "waits ('pause'); it has timers for that"},
        Offence{21, "the process ended by itself (exit code 7), in its handler for button, for M1 at 0:00.5"},
    };
    const Folder folder;
    const std::string bad = folder.write("a.yaml", two_presses);
    const std::string good = folder.write("b.yaml", no_press);
    for (const Offence& offence : offences) {
      if (offence.number == 3 && !clock_reaches_a_spinning_handler) continue;
      CAPTURE(offence.number);
      const std::string firmware = library("offender_" + std::to_string(offence.number));
      const Ran ran =
          drybus_program("check " + folder.path().string() + " --format json --firmware module=" + firmware);
      CHECK(ran.exit_code == 1);
      const json::value told = json::parse(ran.out);
      const json::object& failed = told.at("scenarios").at(0).as_object();
      REQUIRE(failed.at("failures").as_array().size() == 1);
      const auto text = json::value_to<std::string>(failed.at("failures").at(0));
      CHECK_MESSAGE(text.find(offence.says) != std::string::npos, text);
      if (offence.number != 21) {
        // File, step, device, handler and time: the second press begins 0.5 s after the first.
        CHECK_MESSAGE(text.find(bad + ":15:5: M1: the firmware 'offender', in its handler for button, ") == 0,
                      text);
        CHECK_MESSAGE(text.find("; at 0:00.5, in the step 'press M1 local'") != std::string::npos, text);
      }
      CHECK(told.at("scenarios").at(1).at("passed").as_bool());
      CHECK(told.at("passed").to_number<int>() == 1);
    }
  }

  TEST_CASE("run tells the story up to where a firmware broke off, and says so") {
    const Folder folder;
    const std::string bad = folder.write("a.yaml", two_presses);
    const Ran ran = drybus_program("run " + bad + " --firmware module=" + library("offender_1"));
    CHECK(ran.exit_code == 1);
    CHECK(ran.out.find("The run broke off: ") != std::string::npos);
    CHECK(ran.out.find("press M1 local") != std::string::npos);
    CHECK(ran.out.find("FAILED") != std::string::npos);
    const Ran as_json =
        drybus_program("run " + bad + " --format json --firmware module=" + library("offender_1"));
    CHECK(json::parse(as_json.out).at("broken_off").is_string());
    CHECK_FALSE(json::parse(as_json.out).at("passed").as_bool());
  }

  TEST_CASE("a library that does not fit is refused with what is wrong, before anything runs") {
    struct Misfit {
      int number;
      const char* says;
    };
    static constexpr std::array misfits = {
        Misfit{1, "built for version 2 of the interface; this drybus has version 1.2"},
        Misfit{2, "its description takes 12 bytes"},
        Misfit{3, "it is of kind 9"},
        Misfit{4, "unknown flags: 0x40"},
        Misfit{5, "has no name"},
        Misfit{6, "not 1 to 80 printable characters"},
        Misfit{7, "wants 70000 bytes of state; 65536 is the most"},
        Misfit{8, "wants 70000 bytes of memory; 65535 is the most"},
        Misfit{9, "has no handlers"},
        Misfit{10, "the handler 'reset' of 'misfit' is not a function of the library"},
        Misfit{11, "its state_size must be 0, not 8"},
        Misfit{12, "has firmware neither for plates nor for modules"},
        Misfit{13, "drybus_firmware_describe crashes"},
        Misfit{14, "exports no 'drybus_firmware_describe'"},
        Misfit{15, "has no firmware for a module; it has one for a plate"},
    };
    for (const Misfit& misfit : misfits) {
      CAPTURE(misfit.number);
      const std::string path = library("misfit_" + std::to_string(misfit.number));
      const Ran ran = drybus_program("run scenarios/training/setup-split.yaml --firmware module=" + path);
      CHECK(ran.exit_code == 2);
      CHECK(ran.out.empty());
      CHECK_MESSAGE(ran.err.find(misfit.says) != std::string::npos, ran.err);
      CHECK_MESSAGE(ran.err.find(path) != std::string::npos, ran.err);
    }
  }

  TEST_CASE("an option that does not fit is refused with the nearest right word") {
    const auto refused = [](const std::string& words, const std::string& says) {
      const Ran ran = drybus_program("run scenarios/training/setup-split.yaml " + words);
      CHECK(ran.exit_code == 2);
      CHECK_MESSAGE(ran.err.find(says) != std::string::npos, ran.err);
    };
    refused("--firmware modul=" + library("reference").substr(0, 1), "Did you mean 'module'?");
    refused("--firmware module=", "the path of a shared library is missing");
    refused("--firmware nowhere.so", "there is no such file");
    refused("--firmware README.md", "cannot be loaded");
    refused("--firmware " + library("reference") + " --firmware module=" + library("planted_1"),
            "is chosen for modules already");
  }

  TEST_CASE("what has variables of its own is hunted like any other: the same states, the same way") {
    const std::string hunt =
        "hunt scenarios/regression/hunt-start.yaml --for setup-split --no-symmetry --format json --firmware "
        "module=";
    // But for the memory that their states take: their bytes are others.
    const auto told_of = [&](const std::string& name) {
      const Ran ran = drybus_program(hunt + library(name));
      REQUIRE(ran.exit_code == 0);
      json::object told = json::parse(ran.out).as_object();
      REQUIRE(told.erase("memory_bytes") == 1);
      return json::serialize(told);
    };
    CHECK(told_of("own_variables") == told_of("reference"));
  }

  TEST_CASE("compare says where two firmwares part, with the causes of both sides") {
    const std::string pair = " --firmware " + library("reference") + " --firmware " + library("planted_1");
    const Ran ran = drybus_program("compare scenarios/regression/time-outs.yaml" + pair + " --format json");
    CHECK(ran.exit_code == 1);
    const json::value told = json::parse(ran.out);
    const json::object& outcome = told.at("scenarios").at(0).as_object();
    CHECK_FALSE(outcome.at("same").as_bool());
    CHECK(outcome.at("alike").to_number<int>() > 0);
    CHECK(json::value_to<std::string>(outcome.at("a").at(1).at("text")).find("time-out") !=
          std::string::npos);
    const Ran text = drybus_program("compare scenarios/regression/time-outs.yaml" + pair);
    CHECK(text.out.find("PART  scenarios/regression/time-outs.yaml") != std::string::npos);
    CHECK(text.out.find("| B: sample plate with mistake 1") != std::string::npos);

    const Ran same = drybus_program(
        "compare scenarios/regression/setup-still-works.yaml scenarios/training/setup-split.yaml "
        "scenarios/training/zone-zero.yaml --firmware built-in --firmware " +
        library("reference"));
    CHECK(same.exit_code == 0);
    CHECK(same.out.find("told apart in 0") != std::string::npos);
    const Ran one = drybus_program("compare scenarios/training --firmware built-in");
    CHECK(one.exit_code == 2);
  }

  TEST_CASE(
      "compare --hunt writes the shortest sequence as a scenario, which then tells the two apart by itself") {
    const Folder folder;
    const std::string start = folder.write("start.yaml", no_press);
    const std::string pair = " --firmware " + library("reference") + " --firmware " + library("planted_2");
    const Ran ran = drybus_program("compare " + start + pair + " --hunt -o " + folder.file("found.yaml"));
    CHECK(ran.exit_code == 1);
    CHECK_MESSAGE(ran.out.find("3 more moves tell them apart") != std::string::npos, ran.out);
    CHECK(drybus_program("check " + folder.file("found.yaml") + " --firmware " + library("reference"))
              .exit_code == 0);
    CHECK(drybus_program("compare " + folder.file("found.yaml") + pair).exit_code == 1);
  }

  TEST_CASE(
      "a sweep with firmware gives the rates of the built-in devices, and names the run in which one broke "
      "off") {
    const std::string sweep = "sweep scenarios/training/setup-split.yaml -n 300 --format json";
    const Ran built_in = drybus_program(sweep);
    CHECK(drybus_program(sweep + " --firmware " + library("reference")).out == built_in.out);
    const Folder folder;
    const Ran broken = drybus_program("sweep " + folder.write("a.yaml", two_presses) +
                                      " -n 5 --jobs 1 --firmware module=" + library("offender_1"));
    CHECK(broken.exit_code == 1);
    CHECK_MESSAGE(broken.err.find("run 0: M1: the firmware 'offender'") != std::string::npos, broken.err);
  }

  TEST_CASE("a hunt finds with firmware what it finds without") {
    const std::string hunt =
        "hunt scenarios/regression/hunt-start.yaml --for setup-split --no-symmetry --format json";
    // How many states there are is each one's own: what a firmware keeps is told apart byte by byte.
    const auto found = [](const Ran& ran) {
      REQUIRE(ran.exit_code == 0);
      json::object told = json::parse(ran.out).as_object();
      for (const char* own : {"states", "memory_bytes"}) REQUIRE(told.erase(own) == 1);
      return told;
    };
    CHECK(found(drybus_program(hunt)) == found(drybus_program(hunt + " --firmware " + library("reference"))));
  }
}
