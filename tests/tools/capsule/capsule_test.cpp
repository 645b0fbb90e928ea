#include "tools/capsule/capsule.h"

#include <doctest/doctest.h>

#include <filesystem>

#include "model/run/run.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"
#include "tools/base/unusable.h"
#include "tools/load/load.h"

using namespace drybus;
using namespace drybus::tests;

namespace {

constexpr const char* scenario_path = DRYBUS_SOURCE_DIR "/scenarios/training/setup-split.yaml";

tools::Capsule packed(const std::string& path = scenario_path, std::uint64_t seed = 11) {
  const tools::LoadedScenario loaded = tools::load_scenario(path);
  model::RunOptions options;
  options.seed = seed;
  return tools::pack(loaded, {DRYBUS_VERSION, std::string{tools::built_in_firmware}, seed, options.until,
                              model::run(loaded.scenario, options).digest.hex()});
}

std::string refusal_of(const std::string& text) {
  try {
    tools::open_capsule("x.capsule", tools::parse_capsule("x.capsule", text));
  } catch (const tools::Unusable& error) {
    return error.what();
  }
  return "";
}

std::string replaced(std::string text, const std::string& old, const std::string& fresh) {
  const std::size_t at = text.find(old);
  REQUIRE(at != std::string::npos);
  return text.replace(at, old.size(), fresh);
}

}  // namespace

TEST_SUITE("exports") {
  TEST_CASE("a capsule replays the run that was packed, with its seed") {
    for (const std::uint64_t seed : {std::uint64_t{11}, ~std::uint64_t{0}}) {
      const std::string text = to_text(packed(scenario_path, seed));
      CHECK(tools::is_capsule(text));
      const tools::Capsule capsule = tools::parse_capsule("x", text);
      const tools::LoadedScenario loaded = tools::open_capsule("x", capsule);
      CHECK(loaded.scenario.seed == seed);
      CHECK(model::run(loaded.scenario).digest.hex() == capsule.run.digest);
      CHECK(capsule.scenario == "setup-split.yaml");
      CHECK(capsule.family == "families/wired-keypad.yaml");
    }
  }

  TEST_CASE("a scenario is no capsule") {
    CHECK_FALSE(tools::is_capsule(""));
    CHECK_FALSE(tools::is_capsule("drybus: 1"));
    CHECK_FALSE(tools::is_capsule("{\"drybus\": 1}"));
  }

  TEST_CASE("a changed byte of a capsule is told, wherever it stands") {
    const std::string text = to_text(packed());
    for (std::size_t i = 0; i < text.size(); ++i) {
      std::string changed = text;
      changed[i] = static_cast<char>(changed[i] ^ 1);
      CAPTURE(i);
      CHECK_FALSE(refusal_of(changed).empty());
    }
    CHECK_FALSE(refusal_of(text + " ").empty());
    for (std::size_t length = 0; length < text.size(); length += 7)
      CHECK_FALSE(refusal_of(text.substr(0, length)).empty());
  }

  TEST_CASE("what was changed in a capsule is told by name") {
    const std::string text = to_text(packed());
    CHECK(refusal_of(replaced(text, "2.7s", "2.8s")) ==
          "x.capsule: the scenario setup-split.yaml was changed after packing");
    CHECK(refusal_of(replaced(text, "9600", "4800")) ==
          "x.capsule: the family file families/wired-keypad.yaml was changed after packing");
    CHECK(has(refusal_of(replaced(text, "\"seed\":11", "\"seed\":12")), "something beside the files in it"));
    CHECK(has(refusal_of(replaced(text, "capsule\":1", "capsule\":2")),
              "a capsule of version 2; this drybus reads version 1"));
    CHECK(has(refusal_of(replaced(text, "\"seed\":11", "\"seed\":-1")), "'seed' should be a whole number"));
    CHECK(has(refusal_of(replaced(text, "\"run\":", "\"ran\":")), "'run' is missing"));
    CHECK(has(refusal_of("{\"drybus-capsule\":" + std::string(5000, '[')), "not a whole capsule"));
  }

  TEST_CASE("a capsule never reaches for a file outside itself") {
    tools::Capsule capsule = packed();
    std::string& text = capsule.files[0].text;
    text = replaced(text, "family: wired-keypad", "family: ../../../../../../../../etc/passwd.yaml");
    CHECK(has(refusal_of(to_text(capsule)), "etc/passwd.yaml"));
    capsule = packed();
    capsule.scenario = "/etc/passwd";
    CHECK(has(refusal_of(to_text(capsule)), "/etc/passwd: was not brought along"));
    capsule = packed();
    capsule.files.pop_back();  // the family: on the disk it could be found by its name
    CHECK(has(refusal_of(to_text(capsule)), "wired-keypad"));
  }

  TEST_CASE("a capsule holds the site file and the steps that a scenario takes in, from wherever they lie") {
    const Folder folder;
    folder.write("families/own.yaml", content_of(DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml"));
    folder.write("sites/hall.yaml",
                 "drybus-site: 1\nfamily: own\nplaces:\n  hall: {}\nplates:\n  P1: {place: hall, switches: "
                 "{site: 23, zone: 4}}\n"
                 "modules:\n  M1: {place: hall, intended: 23/4/1}\nbus: {line: [P1, M1]}\n");
    folder.write("parts/enter.yaml", "steps:\n  - hold: P1 set\n    for: 2.7s\n");
    const std::string path = folder.write("deep/er/own.yaml",
                                          "drybus: 1\nfamily: own\nsite: ../../sites/hall.yaml\nscript:\n  - "
                                          "include: ../../parts/enter.yaml\n");
    const tools::LoadedScenario loaded = tools::load_scenario(path);
    REQUIRE(loaded.sources.size() == 4);
    const tools::Capsule capsule = tools::parse_capsule("x", to_text(packed(path)));
    CHECK(capsule.scenario == "deep/er/own.yaml");
    CHECK(capsule.family == "families/own.yaml");
    const tools::LoadedScenario again = tools::open_capsule("x", capsule);
    CHECK(again.sources.size() == 4);
    CHECK(model::run(again.scenario).digest.hex() == capsule.run.digest);

    const std::string absolute =
        folder.write("absolute.yaml", "drybus: 1\nfamily: own\nsite: " + folder.path().string() +
                                          "/sites/hall.yaml\nscript:\n  - wait: 1s\n");
    CHECK_THROWS_WITH_AS(packed(absolute),
                         doctest::Contains("name every file that it reads relative to itself"),
                         tools::Unusable);
  }

  TEST_CASE("another program and another firmware are told by name") {
    const tools::CapsuleRun run{"9.9.9", "my-keypad", 1, {}, ""};
    const auto lines = tools::differences("x.capsule", run, tools::built_in_firmware);
    REQUIRE(lines.size() == 2);
    CHECK(lines[0] == "x.capsule: packed by drybus 9.9.9; this is drybus " DRYBUS_VERSION);
    CHECK(lines[1] == "x.capsule: packed with the firmware my-keypad; this run is made with built-in");
    CHECK(tools::differences("x", {DRYBUS_VERSION, "built-in", 1, {}, ""}, "built-in").empty());
  }

  TEST_CASE("every command takes a capsule for a scenario, from any folder") {
    const Ran ran = shell(
        "t=$(mktemp -d) && drybus run scenarios/training/setup-split.yaml -q --seed 5 --capsule $t/a.capsule "
        "&& cd $t && mkdir b"
        " && cd b && drybus run ../a.capsule -q && drybus check ../a.capsule --twice && drybus draw "
        "../a.capsule -o a.svg"
        " && drybus run ../a.capsule -q --capsule again.capsule && cmp ../a.capsule again.capsule && rm -r "
        "$t");
    CHECK(ran.exit_code == 0);
    CHECK(ran.err == "");
    const std::string digest = ran.out.substr(ran.out.find("digest ") + 7, 32);
    CHECK(has(ran.out.substr(ran.out.find(digest) + 32), digest));
    CHECK(has(ran.out, "1 passed"));
  }

  TEST_CASE("a run that comes out otherwise than it was packed says so and fails") {
    tools::Capsule capsule = packed();
    capsule.run.digest = std::string(32, '0');
    const Folder folder;
    const std::string path = folder.write("x.capsule", to_text(capsule));
    const Ran ran = shell("drybus run -q " + path);
    CHECK(ran.exit_code == 1);
    CHECK(has(ran.err, "x.capsule: the run came out differently: digest"));
    CHECK(has(ran.err, "it was packed with 00000000000000000000000000000000"));
    CHECK(shell("drybus run -q --seed 12 " + path).err == "");  // another run, which promised nothing
    const Ran changed = shell("sed -i s/2.7s/2.9s/ " + path + " && drybus run " + path);
    CHECK(changed.exit_code == 2);
    CHECK(changed.out == "");
  }
}
