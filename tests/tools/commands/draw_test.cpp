// drybus draw as a person calls it.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

namespace fs = std::filesystem;
using drybus::tests::content_of;
using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;
using drybus::tests::shell;

const std::string scenario = "scenarios/training/setup-split.yaml";

TEST_CASE("every shipped scenario becomes an SVG that xmllint reads and rsvg-convert draws") {
  const Folder folder;
  for (const auto& entry : fs::directory_iterator(fs::path{DRYBUS_SOURCE_DIR} / "scenarios/training")) {
    if (entry.path().extension() != ".yaml") continue;
    const std::string svg = folder.file(entry.path().stem().string() + ".svg");
    const Ran ran = drybus_program("draw " + entry.path().string() + " -o " + svg);
    CHECK_MESSAGE(ran.exit_code == 0, ran.err);
    CHECK_MESSAGE(shell("xmllint --noout " + svg).exit_code == 0, svg);
    CHECK_MESSAGE(shell(fmt::format("rsvg-convert -w 1280 {0} -o {0}.png", svg)).exit_code == 0, svg);
    CHECK(fs::file_size(svg + ".png") > 10'000);
  }
}

TEST_CASE("a page is one file that asks nothing of anybody else") {
  const Folder folder;
  REQUIRE(drybus_program("draw " + scenario + " -o " + folder.file("a.html")).exit_code == 0);
  const std::string page = content_of(folder.file("a.html"));
  for (const char* link : {"src=", "href=", "@import", "url(http", "fetch(", "XMLHttpRequest"}) {
    CHECK_MESSAGE(page.find(link) == std::string::npos, link);
  }
  CHECK(page.find("default-src 'none'") != std::string::npos);
  CHECK(page.find("prefers-reduced-motion") != std::string::npos);
  CHECK(page.find("@media print") != std::string::npos);
}

TEST_CASE("a picture can go to standard output, and the format is then said") {
  const Ran svg = drybus_program("draw " + scenario + " -o - --format svg");
  CHECK(svg.exit_code == 0);
  CHECK(svg.out.starts_with("<?xml"));
  const Ran unsaid = drybus_program("draw " + scenario + " -o -");
  CHECK(unsaid.exit_code == 2);
  CHECK(unsaid.err.find("--format svg or --format html") != std::string::npos);
}

TEST_CASE("another extension, or none, is refused before anything is written, and the two are named") {
  const Folder folder;
  for (const char* name : {"a.png", "a", "a.pdf"}) {
    const Ran ran = drybus_program("draw " + scenario + " -o " + folder.file(name));
    CHECK(ran.exit_code == 2);
    CHECK_MESSAGE(ran.err.find(".svg") != std::string::npos, ran.err);
    CHECK_MESSAGE(ran.err.find(".html") != std::string::npos, ran.err);
    CHECK(!fs::exists(folder.file(name)));
  }
  const Ran format = drybus_program("draw " + scenario + " -o - --format svq");
  CHECK(format.exit_code == 2);
  CHECK(format.err.find("svg") != std::string::npos);
}

TEST_CASE(
    "an output that is missing, a width that is none, a time beyond the end: each is told, with exit code "
    "2") {
  CHECK(drybus_program("draw " + scenario).err.find("-o is missing") != std::string::npos);
  for (const char* options :
       {"", "-o - --format svg --width 100", "-o - --format svg --width wide", "-o - --format svg --from 3h",
        "-o - --format svg --from 60s --to 30s", "-o - --format svg --from 12", "-o /nowhere/at/all.svg"}) {
    const Ran ran = drybus_program("draw " + scenario + " " + options);
    CHECK_MESSAGE(ran.exit_code == 2, options);
    CHECK_MESSAGE(!ran.err.empty(), options);
    CHECK_MESSAGE(ran.out.empty(), options);
  }
}

TEST_CASE("a part of the run is drawn as a part") {
  const Ran whole = drybus_program("draw " + scenario + " -o - --format svg");
  const Ran part = drybus_program("draw " + scenario + " -o - --format svg --from 4min --to 262s");
  CHECK(part.exit_code == 0);
  CHECK(part.out.size() < whole.out.size());
  CHECK(part.out.find(">4:22.0<") != std::string::npos);
  CHECK(part.out.find(">0:05.5<") == std::string::npos);
}

TEST_CASE("a moment of the run is a picture too, with what holds then") {
  const Ran moment = drybus_program("draw " + scenario + " -o - --format svg --from 200s --to 200s");
  CHECK(moment.exit_code == 0);
  CHECK(moment.out.find("setup") != std::string::npos);
}

TEST_CASE("what is hidden can be left out of the file") {
  const Ran ran = drybus_program("draw " + scenario + " -o - --format html --hide-hidden");
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("time-out 240 s") == std::string::npos);
  CHECK(ran.out.find("is not in this file") != std::string::npos);
}

TEST_CASE("an SVG is one chapter, says so, and others are asked for by number; a page has them all") {
  const std::string large = "draw scenarios/regression/rows-confirming.yaml -o - --format svg";
  const Ran first = drybus_program(large);
  CHECK(first.exit_code == 0);
  CHECK_MESSAGE(first.err.find("this is chapter 1 of ") != std::string::npos, first.err);
  const Ran second = drybus_program(large + " --chapter 2");
  CHECK(second.exit_code == 0);
  CHECK(second.err.empty());
  CHECK(second.out.find("2 of ") != std::string::npos);
  CHECK(first.out != second.out);
  const Ran beyond = drybus_program(large + " --chapter 99");
  CHECK(beyond.exit_code == 2);
  CHECK_MESSAGE(beyond.err.find("expected 1 to ") != std::string::npos, beyond.err);
  CHECK(beyond.out.empty());
  CHECK(drybus_program("draw " + scenario + " -o - --format svg").err.empty());
  const Ran page = drybus_program("draw " + scenario + " -o - --format html --chapter 1");
  CHECK(page.exit_code == 2);
  CHECK(page.err.find("an .html has all chapters") != std::string::npos);
}

TEST_CASE("a page's shape is a screen, A4 or letter; another is refused with the nearest right word") {
  for (const char* shape : {"screen", "a4", "letter"})
    CHECK(drybus_program("draw " + scenario + " -o - --format svg --page " + shape).exit_code == 0);
  const Ran wrong = drybus_program("draw " + scenario + " -o - --format svg --page leter");
  CHECK(wrong.exit_code == 2);
  CHECK(wrong.err.find("Did you mean 'letter'?") != std::string::npos);
  CHECK(wrong.out.empty());
}

}  // namespace
