#include <doctest/doctest.h>

#include "tests/support/program.h"
#include "tests/support/text.h"

using namespace drybus::tests;

namespace {

/// Runs a scenario in a folder of its own, $t, which is listed afterwards.
Ran run_in_folder(const std::string& options, const std::string& before = "true") {
  return shell(
      "s=$PWD/scenarios/training/setup-split.yaml; t=$(mktemp -d); cp $s $t/mine.yaml; mkdir $t/folder; " +
      before + "; (cd $t && drybus run -q $s " + options +
      "); code=$?; ls -A $t | tr '\\n' ' '; rm -r $t; exit $code");
}

}  // namespace

TEST_SUITE("exports") {
  TEST_CASE("every format of a run is written at once") {
    const Ran ran =
        run_in_folder("--vcd a.vcd --pcapng a.pcapng --record a.jsonl --capsule a.capsule -o a.txt");
    CHECK(ran.exit_code == 0);
    CHECK(ran.err == "");
    CHECK(ran.out == "a.capsule a.jsonl a.pcapng a.txt a.vcd folder mine.yaml ");
  }

  TEST_CASE("a path that cannot be written is named, and no other file is left behind") {
    const std::string all = "--vcd a.vcd --record a.jsonl --pcapng ";
    for (const char* bad :
         {"nowhere/a.pcapng", "folder", "/proc/a.pcapng", "/dev/full", "mine.yaml/a.pcapng"}) {
      CAPTURE(bad);
      const Ran ran = run_in_folder(all + bad);
      CHECK(ran.exit_code == 2);
      CHECK(has(ran.err, std::string{bad} + ": cannot be written: "));
      CHECK(ran.out == "folder mine.yaml ");
    }
  }

  TEST_CASE("a file that was there stays as it was when another cannot be written") {
    const Ran ran = shell(
        "t=$(mktemp -d); echo old > $t/a.vcd; drybus run -q scenarios/training/setup-split.yaml --vcd "
        "$t/a.vcd --record "
        "/dev/full; code=$?; cat $t/a.vcd; ls -A $t; rm -r $t; exit $code");
    CHECK(ran.exit_code == 2);
    CHECK(ran.out == "old\na.vcd\n");
  }

  TEST_CASE("nothing is written over what the run is read from, or over another file") {
    const Ran over = shell(
        "t=$(mktemp -d); cp scenarios/training/setup-split.yaml $t/s.yaml; mkdir $t/families; cp "
        "scenarios/families/*.yaml "
        "$t/families; drybus run -q $t/s.yaml --record $t/families/../s.yaml; drybus run -q $t/s.yaml --vcd "
        "$t/families/wired-keypad.yaml; code=$?; cmp scenarios/training/setup-split.yaml $t/s.yaml; rm -r "
        "$t; exit $code");
    CHECK(over.exit_code == 2);
    CHECK(over.out == "");
    CHECK(has(over.err, "s.yaml is read by this command"));
    CHECK(has(over.err, "wired-keypad.yaml is read by this command"));
    const Ran twice = run_in_folder("--vcd same --pcapng ./same");
    CHECK(twice.exit_code == 2);
    CHECK(has(twice.err, "--pcapng: ./same is written by --vcd already"));
    CHECK(twice.out == "folder mine.yaml ");
    CHECK(has(run_in_folder("--format markdown -o x.md --vcd x.svg").err,
              "--output: x.svg is written by --vcd already"));
    CHECK(has(run_in_folder("--format markdown -o x.svg").err, "a hand-out is Markdown; name it .md"));
  }

  TEST_CASE("one format can go to standard output, and then nothing else does") {
    const Ran ran = shell("drybus run scenarios/training/setup-split.yaml --record - | tail -1 | cut -c1-6");
    CHECK(ran.out == "{\"id\":\n");
    const Ran twice = shell("drybus run scenarios/training/setup-split.yaml --record - --vcd -");
    CHECK(twice.exit_code == 2);
    CHECK(twice.out == "");
  }

  TEST_CASE("a reader that goes away early is no error, a full disk is one") {
    const Ran gone = shell(
        "{ drybus run scenarios/training/setup-split.yaml --record -; echo $? >&2; } | head -1 | cut -c1-6");
    CHECK(gone.out == "{\"id\":\n");
    CHECK(gone.err == "0\n");
    const Ran full = shell("drybus run scenarios/training/setup-split.yaml > /dev/full");
    CHECK(full.exit_code == 2);
    CHECK(has(full.err, "standard output: cannot be written: "));
  }

  TEST_CASE("a run that cannot be made writes nothing") {
    const Ran ran = run_in_folder("--until 10s --vcd a.vcd --capsule a.capsule");
    CHECK(ran.exit_code == 2);
    CHECK(has(ran.err, "a longer run needs --until"));
    CHECK(ran.out == "folder mine.yaml ");
  }
}
