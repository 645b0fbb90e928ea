// `plan s.yaml --route s.yaml` and others wrote over the file that they had read, with exit code 0.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;
namespace fs = std::filesystem;

/// A command that writes: %i is its input in the folder, %o where to write. It is run in that folder.
struct Writing {
  std::string command;
  std::string input;               ///< a file among the project's
  std::vector<std::string> reads;  ///< what else it reads, in the folder
};

const std::string split = "scenarios/training/setup-split.yaml";
const std::string hall = "scenarios/sites/village-hall.yaml";
const std::string hunted = "scenarios/regression/hunt-start.yaml";
const std::string report = "scenarios/reports/two-answer-as-one.yaml";
const std::string family = "families/wired-keypad.yaml";
const std::filesystem::path firmware =
    std::filesystem::path{DRYBUS_PROGRAM}.replace_filename("firmware/reference.so");

const std::vector<Writing> all_that_write = {
    {"run %i -o %o", split, {family}},
    {"run %i --format json -o %o", split, {family}},
    {"run %i --vcd %o", split, {family}},
    {"run %i --pcapng %o", split, {family}},
    {"run %i --record %o", split, {family}},
    {"run %i --capsule %o", split, {family}},
    {"run %i --firmware module=f.so --record %o", split, {family, "f.so"}},
    {"check %i --junit %o", split, {family}},
    {"check . --junit %o", split, {family}},
    {"check %i --firmware module=f.so --junit %o", split, {family, "f.so"}},
    {"check %i --accept --digests %o", split, {family}},
    {"draw %i --format svg -o %o", split, {family}},
    {"draw %i --format html -o %o", split, {family}},
    {"shrink %i --for setup-split -o %o", split, {family}},
    {"hunt %i --for setup-split -o %o", hunted, {family}},
    {"why %i M1.level --at 10s --not 100% -o %o", hunted, {family}},
    {"sweep %i -n 10 --vary time_out=60s..90s/2 -o %o", split, {family}},
    {"recover %i -o %o", split, {family}},
    {"recover %i -o %o", report, {family, "catalogue.yaml"}},
    {"plan %i --runs 0 --csv %o", hall, {family}},
    {"plan %i --runs 0 --sheet %o", hall, {family}},
    {"plan %i --runs 0 --route %o", hall, {family}},
    {"plan %i --runs 0 --keep kept.csv --sheet %o", hall, {family, "kept.csv"}},
    {"building --family %i --plates 2 -o %o", "scenarios/families/wired-keypad.yaml", {}},
    {"compare %i --firmware built-in --firmware module=f.so --hunt -o %o", hunted, {family, "f.so"}}};

void prepare(const Folder& folder, const Writing& writing) {
  fs::copy(DRYBUS_SOURCE_DIR "/scenarios/families", folder.path() / "families");
  fs::copy(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml", folder.path() / "catalogue.yaml");
  fs::copy(DRYBUS_SOURCE_DIR "/" + writing.input, folder.path() / "input.yaml");
  fs::copy(firmware, folder.path() / "f.so");
  folder.write("kept.csv", "module,address\n");
}

std::map<std::string, std::string> contents(const Folder& folder) {
  std::map<std::string, std::string> all;
  for (const auto& entry : fs::recursive_directory_iterator{folder.path()}) {
    const std::string name = fs::relative(entry.path(), folder.path()).string();
    all[name] = entry.is_regular_file() ? content_of(entry.path()) : "";
  }
  return all;
}

std::string filled_in(std::string text, const std::string& mark, const std::string& word) {
  for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark, at))
    text.replace(at, mark.size(), word);
  return text;
}

Ran run_in(const Folder& folder, const Writing& writing, const std::string& output) {
  const std::string command = filled_in(filled_in(writing.command, "%i", "./input.yaml"), "%o", output);
  return shell(fmt::format("cd {} && drybus {}", folder.path().string(), command));
}

void refuses(const Folder& folder, const Writing& writing, const std::string& output) {
  CAPTURE(writing.command);
  CAPTURE(output);
  const auto before = contents(folder);
  const Ran ran = run_in(folder, writing, output);
  CHECK(ran.exit_code == 2);
  CHECK(ran.err.find(output + " is read by this command") != std::string::npos);
  CHECK(ran.out == "");
  CHECK(contents(folder) == before);
}

}  // namespace

TEST_SUITE("outputs") {
  TEST_CASE("no option writes over what the command reads, however it is spelt") {
    for (const Writing& writing : all_that_write) {
      const Folder folder;
      prepare(folder, writing);
      fs::create_symlink("input.yaml", folder.path() / "link.yaml");
      fs::create_symlink(".", folder.path() / "here");
      fs::create_hard_link(folder.path() / "input.yaml", folder.path() / "second.name");
      for (const std::string spelt :
           {"input.yaml", "families/../input.yaml", "link.yaml", "here/input.yaml", "second.name"})
        refuses(folder, writing, spelt);
      refuses(folder, writing, folder.file("input.yaml"));
    }
  }

  TEST_CASE("nor over what it reads beside it: families, catalogue, firmware, schedule") {
    for (const Writing& writing : all_that_write) {
      const Folder folder;
      prepare(folder, writing);
      for (const std::string& read : writing.reads) refuses(folder, writing, read);
    }
  }

  TEST_CASE("nor over what a scenario includes, the answers, the capture, or a capsule") {
    const Folder folder;
    prepare(folder, {"", split, {}});
    folder.write("steps.yaml", "steps:\n  - wait: 1s\n");
    const std::string text = content_of(folder.file("input.yaml"));
    folder.write("input.yaml", text + "  - include: steps.yaml\n");
    for (const std::string command : {"run %i --vcd %o", "check %i --junit %o", "draw %i --format svg -o %o"})
      refuses(folder, {command, "", {}}, "steps.yaml");
    CHECK(shell(fmt::format("cd {} && drybus run -q input.yaml --capsule c.yaml", folder.path().string()))
              .err == "");
    refuses(folder, {"run c.yaml --record %o", "", {}}, "c.yaml");
    refuses(folder, {"recover c.yaml -o %o", "", {}}, "c.yaml");
  }

  TEST_CASE("a folder of explanations is not written into over the report") {
    const Folder folder;
    prepare(folder, {"", report, {}});
    fs::rename(folder.file("input.yaml"), folder.file("explanation-1.yaml"));
    const auto before = contents(folder);
    const Ran ran = shell(
        fmt::format("cd {} && drybus diagnose explanation-1.yaml --scenarios .", folder.path().string()));
    CHECK(ran.exit_code == 2);
    CHECK(ran.err.find("explanation-1.yaml: is read by this command") != std::string::npos);
    CHECK(contents(folder) == before);
  }

  TEST_CASE("two options never write one file") {
    for (const Writing& writing : {Writing{"run %i --vcd x --record %o", split, {}},
                                   {"run %i --vcd x -o %o", split, {}},
                                   {"plan %i --runs 0 --csv x --sheet %o", hall, {}},
                                   {"plan %i --runs 0 --route x --sheet %o", hall, {}},
                                   {"check %i --accept --digests x --junit %o", split, {}}}) {
      const Folder folder;
      prepare(folder, writing);
      fs::create_symlink("x", folder.path() / "link");
      fs::create_symlink(".", folder.path() / "here");
      for (const std::string spelt : {"x", "./x", "link", "here/x"}) {
        CAPTURE(writing.command);
        CAPTURE(spelt);
        const auto before = contents(folder);
        const Ran ran = run_in(folder, writing, spelt);
        CHECK(ran.exit_code == 2);
        CHECK(ran.err.find(" already") != std::string::npos);
        CHECK(contents(folder) == before);
      }
    }
  }

  TEST_CASE("what is brought up to date is read and written") {
    const Folder folder;
    prepare(folder, {"", hall, {}});
    const std::string plan =
        fmt::format("cd {} && drybus plan input.yaml --runs 0 --csv s.csv", folder.path().string());
    CHECK(shell(plan).exit_code == 0);
    CHECK(shell(plan).exit_code == 0);
    const std::string first = content_of(folder.file("s.csv"));
    CHECK(shell(plan).exit_code == 0);
    CHECK(content_of(folder.file("s.csv")) == first);
    const std::string check =
        fmt::format("cd {} && drybus check input.yaml --digests d.json", folder.path().string());
    fs::copy(DRYBUS_SOURCE_DIR "/" + split, folder.path() / "input.yaml",
             fs::copy_options::overwrite_existing);
    CHECK(shell(check + " --accept").exit_code == 0);
    CHECK(shell(check + " --accept").exit_code == 0);
    CHECK(shell(check).exit_code == 0);
  }
}
