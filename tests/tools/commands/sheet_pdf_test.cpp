// Sheets as PDF, as poppler reads them: pages, their size, and what stands on each.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
using drybus::tests::shell;

/// Sixty modules in ten rooms, a plate in each.
std::string site_of_sixty(const Folder& folder) {
  std::string sheet = "Room;Circuit;Load W\n";
  for (int i = 0; i < 60; ++i)
    sheet += fmt::format("Room {};Light {} of the room;60\n", 1 + i / 6, 1 + i % 6);
  const std::string site = folder.file("sixty.yaml");
  REQUIRE(drybus_program(fmt::format("site {} -o {}", folder.write("sixty.csv", sheet), site)).exit_code ==
          0);
  return site;
}

std::size_t pages_of(const std::string& pdf) {
  return std::stoul(shell("pdfinfo " + pdf + " | sed -n 's/^Pages: *//p'").out);
}

std::string page_text(const std::string& pdf, std::size_t page) {
  return shell(fmt::format("pdftotext -layout -f {0} -l {0} {1} -", page, pdf)).out;
}

std::size_t lines_of(const std::string& text) {
  std::size_t lines = 0;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    if (text.find_first_not_of(" \f\n", begin) < end) ++lines;
    begin = end + 1;
  }
  return lines;
}

/// Every page has its number, and more on it than a line or two.
void check_pages(const std::string& pdf, std::size_t most) {
  const std::size_t pages = pages_of(pdf);
  CHECK(pages <= most);
  CHECK(pages > 1);
  for (std::size_t page = 1; page <= pages; ++page) {
    CAPTURE(page);
    const std::string text = page_text(pdf, page);
    CHECK(has(text, fmt::format("page {} of {}", page, pages)));
    CHECK(lines_of(text) >= 6);
  }
}

TEST_CASE(
    "a plan of sixty modules is a sheet of six pages at most, with rooms, cautions and a line to sign") {
  const Folder folder;
  const std::string site = site_of_sixty(folder);
  for (const std::string paper : {"a4", "letter"}) {
    CAPTURE(paper);
    const std::string pdf = folder.file(paper + ".pdf");
    const Ran ran = drybus_program(fmt::format("plan {} --runs 0 --paper {} --sheet {}", site, paper, pdf));
    CAPTURE(ran.err);
    REQUIRE(ran.exit_code == 0);
    check_pages(pdf, 6);
    const std::string whole = shell("pdftotext -layout " + pdf + " -").out;
    for (int room = 1; room <= 10; ++room) CHECK(has(whole, fmt::format("Room {}\n", room)));
    CHECK(has(whole, "A dimmer turned off is not isolation."));
    CHECK(has(whole, "Signed"));
    CHECK(has(shell("pdfinfo " + pdf).out, paper == "a4" ? "(A4)" : "(letter)"));
  }
}

TEST_CASE("the round of a handover is a PDF, too") {
  const Folder folder;
  const std::string pdf = folder.file("round.PDF");
  const std::string site = folder.file("house.yaml");
  REQUIRE(drybus_program("site scenarios/sites/house.csv -o " + site).exit_code == 0);
  const Ran ran =
      drybus_program(fmt::format("handover {} --slips 50 --pairs 0 --paper letter -o {}", site, pdf));
  CAPTURE(ran.err);
  REQUIRE(ran.exit_code == 0);
  check_pages(pdf, 6);
  CHECK(has(page_text(pdf, 1), "Kitchen"));
  CHECK(has(shell("pdftotext -layout " + pdf + " -").out, "Signed"));
}

TEST_CASE("without the program that prints, the reason and the way round are told, and nothing is written") {
  const Folder folder;
  const std::string pdf = folder.file("s.pdf");
  const Ran ran =
      shell(fmt::format("PATH={} drybus plan scenarios/sites/village-hall.yaml --runs 0 --csv {} --sheet {}",
                        folder.file("none"), folder.file("s.csv"), pdf));
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "no PDF: weasyprint cannot be started"));
  CHECK(has(ran.err, "write the sheet as .html"));
  CHECK_FALSE(std::filesystem::exists(pdf));
  CHECK_FALSE(std::filesystem::exists(folder.file("s.csv")));
}

}  // namespace
