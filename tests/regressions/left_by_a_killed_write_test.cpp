// A write that was killed left `x.PID.part`, and a later process with the same number could not write; a link was
// replaced by a file; a pipe without a reader was waited for; failing checks into a closed pipe were a success.
#include <doctest/doctest.h>
#include <fmt/format.h>
#include <sys/stat.h>

#include <filesystem>
#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;
namespace fs = std::filesystem;

const std::string draw = "drybus draw scenarios/training/setup-split.yaml --format svg -o ";

mode_t mode_of(const std::string& file) {
  struct stat is {};
  REQUIRE(::stat(file.c_str(), &is) == 0);
  return is.st_mode & 0777u;
}

}  // namespace

TEST_SUITE("outputs") {
  TEST_CASE("what an earlier process left is in nobody's way") {
    const Folder folder;
    // Every number that the next process can have, as far as it is near.
    const Ran ran = shell(fmt::format("for i in $(seq $$ $(($$ + 400))); do : > {0}.$i.part; done; {1}{0}",
                                      folder.file("x.svg"), draw));
    CHECK(ran.exit_code == 0);
    CHECK(content_of(folder.file("x.svg")).find("<svg") != std::string::npos);
  }

  TEST_CASE("a write that is killed leaves the folder as it was, or whole") {
    for (const char* signal : {"INT", "TERM", "KILL"}) {
      for (int i = 1; i <= 20; ++i) {
        const Folder folder;
        shell(fmt::format("timeout -s {} {} " DRYBUS_PROGRAM " building --plates 200 -o {}", signal, i * 0.01,
                          folder.file("x.yaml")));
        for (const auto& entry : fs::directory_iterator{folder.path()}) {
          CAPTURE(signal);
          CHECK(entry.path().filename() == "x.yaml");
          CHECK(content_of(entry.path()).back() == '\n');
        }
      }
    }
  }

  TEST_CASE("a link stays and what it stands for is written, with the permissions that it had") {
    const Folder folder;
    const std::string real = folder.write("deep/real.svg", "old");
    fs::create_symlink("deep/real.svg", folder.path() / "link.svg");
    fs::permissions(real, fs::perms::owner_read | fs::perms::owner_write | fs::perms::others_read);
    CHECK(shell(draw + folder.file("link.svg")).exit_code == 0);
    CHECK(fs::is_symlink(folder.path() / "link.svg"));
    CHECK(content_of(real).find("<svg") != std::string::npos);
    CHECK(mode_of(real) == 0604);
    fs::create_symlink("deep/new.svg", folder.path() / "ahead.svg");
    CHECK(shell("umask 027; " + draw + folder.file("ahead.svg")).exit_code == 0);
    CHECK(mode_of(folder.file("deep/new.svg")) == 0640);
    CHECK(std::distance(fs::directory_iterator{folder.path() / "deep"}, fs::directory_iterator{}) == 2);
  }

  TEST_CASE("what is no place for a file is refused at once, and says why") {
    const Folder folder;
    REQUIRE(::mkfifo(folder.file("pipe").c_str(), 0600) == 0);
    fs::create_symlink("loop", folder.path() / "loop");
    const auto refused = [](const std::string& place, const std::string& why) {
      CAPTURE(place);
      const Ran ran = shell("timeout 20 " DRYBUS_PROGRAM
                            " hunt scenarios/regression/hunt-start.yaml --for setup-split -o '" +
                            place + "'");
      CHECK(ran.exit_code == 2);
      CHECK(ran.err.find(why) != std::string::npos);
      CHECK(ran.out == "");
    };
    refused(folder.file("pipe"), "a pipe that nobody reads");
    refused(folder.file("loop"), "symbolic links");
    refused("/proc/self/oom_score_adj", "no place for files");
    refused("/proc/x", "no place for files");
    refused("/sys/x", "no place for files");
    refused("/dev/zero", "it is a device");
    refused("/dev/stdin", "open for reading only");
    refused(folder.path().string(), "Is a directory");
    refused(folder.file("no/x"), "No such file or directory");
    refused("", "the name of a file is missing");
  }

  TEST_CASE("standard output by its other names, the null device and a pipe with a reader work") {
    const std::string plain = shell(draw + "-").out;
    CHECK(plain.find("<svg") != std::string::npos);
    CHECK(shell(draw + "/dev/stdout").out == plain);
    CHECK(shell(draw + "/dev/fd/1").out == plain);
    CHECK(shell(draw + "/dev/fd/7 7>&1").out == plain);
    CHECK(shell(draw + "/dev/stdout | cat").out == plain);
    CHECK(shell(draw + "/dev/null").exit_code == 0);
    CHECK(fs::is_character_file("/dev/null"));
    CHECK(shell("drybus run -q scenarios/training/setup-split.yaml --vcd /dev/null --record /dev/null")
              .exit_code == 0);
    const Folder folder;
    const std::string pipe = folder.file("pipe");
    CHECK(shell(fmt::format("mkfifo {0}; cat {0} & sleep 0.3; {1}{0}; wait", pipe, draw)).out == plain);
    // What is there already stays before it, as with any other program.
    CHECK(shell(fmt::format("cd {}; echo before > x; cd - >/dev/null; {}/dev/stdout >> {}; head -1 {}",
                            folder.path().string(), draw, folder.file("x"), folder.file("x")))
              .out == "before\n");
  }

  TEST_CASE("a closed pipe is no success for checks that fail") {
    const Folder folder;
    const std::string failing = folder.write("f.yaml", R"(drybus: 1
family: wired-keypad
site:
  plates: {P1: {switches: {site: 23, zone: 4}}}
  modules: {M1: {}}
  bus: {line: [P1, M1]}
script:
  - expect: {M1.address: 23/4/1}
)");
    const std::string families = "export DRYBUS_FAMILIES=$PWD/scenarios/families; ";
    for (const std::string command : {"check ", "run ", "check --format json "}) {
      CAPTURE(command);
      CHECK(shell(families + "{ sleep 0.1; drybus " + command + failing + "; echo $? >&2; } | true").err ==
            "1\n");
    }
    CHECK(shell("{ sleep 0.1; drybus check scenarios/training/first-steps.yaml; echo $? >&2; } | true").err ==
          "0\n");
  }

  TEST_CASE("no message tells where some library's source lies") {
    const Folder folder;
    const std::string broken = folder.write("x.json", "{\"a\": ");
    const std::string odd = folder.write("y.json", "{\"a\": 3}");
    for (const std::string& file : {broken, odd}) {
      for (const std::string command : {"check scenarios/training/first-steps.yaml --digests ", "run ",
                                        "diff scenarios/training/first-steps.yaml ", "diagnose ", "plan "}) {
        const Ran ran = drybus_program(command + file);
        CAPTURE(command);
        CAPTURE(ran.err);
        CHECK(ran.exit_code == 2);
        CHECK(ran.err.find("/usr/") == std::string::npos);
        CHECK(ran.err.find(".hpp") == std::string::npos);
        CHECK(ran.err.find(".ipp") == std::string::npos);
      }
    }
  }
}
