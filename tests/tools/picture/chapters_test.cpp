// Chapters: each fits its page, all that happened is in one of them, and nothing hidden decides how they are cut.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "model/record/describe.h"
#include "tests/support/pictures.h"
#include "tests/support/script_text.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"
#include "tools/load/load.h"
#include "tools/picture/html.h"
#include "tools/picture/svg.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools::picture;

double shown_height(const Picture& picture) {
  return picture.height * picture.shown_width / picture.width;
}

TEST_CASE("every story for a class is one picture on a screen of 1280 by 720") {
  std::size_t stories = 0;
  for (const std::string& path : shipped_scenarios()) {
    if (path.find("/training/") == std::string::npos && path.find("/scenes/") == std::string::npos) continue;
    ++stories;
    const auto chapters = chapters_of(tools::load_scenario(path).scenario);
    CHECK_MESSAGE(chapters.size() == 1, path);
    CHECK_MESSAGE(shown_height(chapters.front()) <= 720.1, path);
    // The smallest letters, 14 px, are never shown smaller than 10.
    CHECK_MESSAGE(14 * chapters.front().shown_width / chapters.front().width >= 9.99, path);
    check_places(chapters.front(), path);
  }
  CHECK(stories >= 25);
}

TEST_CASE("no chapter of any shipped scenario is higher than its page, and its labels have their places") {
  for (const std::string& path : shipped_scenarios()) {
    for (const auto page : {PageShape::screen, PageShape::a4, PageShape::letter}) {
      PictureOptions options;
      options.page = page;
      for (const Picture& chapter : chapters_of(tools::load_scenario(path).scenario, options)) {
        CHECK_MESSAGE(shown_height(chapter) <= page_height(page, 1280) + 0.1, path);
        CHECK_MESSAGE(chapter.shown_width <= 1280.1, path);
        check_places(chapter, path);
      }
    }
  }
}

TEST_CASE("chapters of random scenarios fit their pages") {
  for (const std::uint64_t seed : test::seeds(60)) {
    INFO(test::replay(seed, "chapters of random scenarios fit their pages"));
    PictureOptions options;
    options.width = seed % 3 == 0 ? 800 : 1280;
    options.hide_hidden = seed % 2 == 0;
    for (const Picture& chapter : chapters_of(random_scenario(seed), options)) {
      CHECK(shown_height(chapter) <= page_height(PageShape::a4, options.width) + 0.1);
      check_places(chapter, fmt::format("seed {}", seed));
    }
  }
}

TEST_CASE("a large site is folded by time and by rooms, and everybody is in some chapter") {
  auto scenario = small_scenario(30);
  scenario.site.places = {{"hall"}, {"attic"}, {"cellar"}};
  scenario.site.walks = model::shortest_walks(3, {{0, 1, 1s}, {1, 2, 1s}}, 1s);
  for (std::size_t i = 0; i < 30; ++i) scenario.site.modules[i].place = static_cast<model::PlaceId>(i % 3);
  Script script{scenario};
  for (int i = 1; i <= 30; ++i) script.press(fmt::format("M{}", i));
  const auto chapters = chapters_of(scenario);
  REQUIRE(chapters.size() > 2);
  std::set<std::string> names;
  for (const Picture& chapter : chapters) {
    CHECK(names.insert(chapter.chapter).second);  // each has a name of its own
    CHECK(shown_height(chapter) <= 720.1);
  }
  for (int i = 1; i <= 30; ++i) {
    const std::string name = fmt::format("M{}", i);
    const auto has = [&](const Picture& chapter) {
      return std::any_of(chapter.labels.begin(), chapter.labels.end(),
                         [&](const Label& label) { return label.text == name; });
    };
    CHECK_MESSAGE(std::any_of(chapters.begin(), chapters.end(), has), name);
  }
}

TEST_CASE("of many people only those who do something within a row have a lane") {
  auto scenario = small_scenario(1);
  for (int i = 2; i <= 30; ++i) scenario.people.push_back({fmt::format("colleague {}", i), 0, {}});
  Script{scenario}.press("P1", up).wait(30s);
  Script{scenario, 7}.wait(3s).press("P1", down).wait(2s);
  const Picture picture = picture_of(scenario);
  CHECK(says(picture, "colleague 8"));
  CHECK(!says(picture, "colleague 9"));
  CHECK(says(picture, "and 28 others who stay where they are"));
  check_places(picture, "thirty people");
}

// --- what the words name ---

TEST_CASE("every moment that a finding's words name stands on the axis of every shipped story") {
  std::size_t moments = 0;
  for (const std::string& path : shipped_scenarios()) {
    if (path.find("/training/") == std::string::npos) continue;
    const auto loaded = tools::load_scenario(path);
    const model::RunResult result = model::run(loaded.scenario);
    const Picture picture = picture_of(loaded.scenario);
    std::set<std::string> written;
    for (const Label& label : picture.labels) written.insert(label.text);
    for (const model::Finding& finding : result.findings) {
      for (const sim::Instant at : tools::named_moments(result.record, finding.text)) {
        ++moments;
        CHECK_MESSAGE(written.count(model::clock_text(at)) == 1, path << " " << model::clock_text(at));
      }
    }
  }
  CHECK(moments > 60);
}

TEST_CASE("a picture tells a plate's site and zone, new settings, power-up modes and generations") {
  const auto story = [](const char* name) {
    return picture_of(
        tools::load_scenario(fmt::format(DRYBUS_SOURCE_DIR "/scenarios/training/{}.yaml", name)).scenario);
  };
  const Picture moved = story("orphan-address");
  CHECK(says(moved, "site 23, zone 4"));
  CHECK(says(moved, "set to site 23, zone 5"));
  const Picture lit = story("powers-up-lit");
  CHECK(says(lit, "23/9/1, powers up full"));
  CHECK(says(lit, "23/9/2, powers up off"));
  const Picture newer = story("newer-module");
  CHECK(says(newer, "wired-keypad"));
  CHECK((says(newer, "confirming-") && says(newer, "modules")));
}

TEST_CASE("how long a break is stands between arrows, which no time of the clock has") {
  auto scenario = small_scenario(1);
  Script{scenario}.press("P1", up).wait(100s).press("P1", down).wait(1s);
  const Picture picture = picture_of(scenario);
  CHECK(says(picture, "100 s"));
  CHECK(says(picture, "a clock time"));
  CHECK(std::any_of(picture.marks.begin(), picture.marks.end(), [](const Mark& mark) {
    return std::any_of(mark.shapes.begin(), mark.shapes.end(),
                       [](const Shape& s) { return s.look == Look::length; });
  }));
}

// --- hidden ---

std::string seen_as(const model::Scenario& scenario) {
  PictureOptions options;
  options.hide_hidden = true;
  std::string all;
  for (const Picture& chapter : chapters_of(scenario, options)) all += svg_text(chapter);
  return all;
}

std::string open_as(const model::Scenario& scenario) {
  std::string all;
  for (const Picture& chapter : chapters_of(scenario)) all += svg_text(chapter);
  return all;
}

/// Somebody puts a module in setup, goes away for five minutes, and comes back.
model::Scenario gone_away(sim::Duration time_out) {
  auto scenario = small_scenario(2);
  scenario.site.places = {{"hall"}, {"attic"}};
  scenario.site.walks = model::shortest_walks(2, {{0, 1, 40s}}, 40s);
  scenario.site.modules[0].place = 1;
  scenario.site.family.module.time_out.after = time_out;
  Script{scenario}.hold("M1", 0, 4s).walk(0).wait(300s).walk(1).wait(5s);
  return scenario;
}

TEST_CASE("two runs that look alike on site give the same picture without what is hidden, byte for byte") {
  // The time-out runs out while nobody is there: at another moment, and for the axis at another place.
  CHECK(open_as(gone_away(150s)) != open_as(gone_away(100s)));
  CHECK(seen_as(gone_away(150s)) == seen_as(gone_away(100s)));

  // Another address in memory of which no lamp and no load tells.
  auto other = gone_away(150s);
  other.site.modules[1].memory.address = {7, 7, 7};
  other.site.modules[1].memory.power_up = gone_away(150s).site.modules[1].memory.power_up;
  CHECK(open_as(gone_away(150s)) != open_as(other));
  CHECK(seen_as(gone_away(150s)) == seen_as(other));

  // And it does tell of what could be seen.
  auto seen_longer = gone_away(150s);
  Script{seen_longer}.press("M1").wait(1s);
  CHECK(seen_as(gone_away(150s)) != seen_as(seen_longer));
}

TEST_CASE("a title that gives the answer away is not in a file without what is hidden") {
  for (const std::string& path : shipped_scenarios()) {
    const auto loaded = tools::load_scenario(path);
    if (loaded.scenario.title.empty() || path.find("/training/") == std::string::npos) continue;
    CHECK_MESSAGE(seen_as(loaded.scenario).find(loaded.scenario.title) == std::string::npos, path);
  }
}

// --- pages ---

TEST_CASE("a page has every chapter, a way from each to the next, and rules for paper") {
  auto scenario = small_scenario(30);
  Script script{scenario};
  for (int i = 1; i <= 30; ++i) script.press(fmt::format("M{}", i));
  const auto chapters = chapters_of(scenario);
  REQUIRE(chapters.size() > 1);
  const std::string page = html_text(chapters);
  const auto count = [&](std::string_view part) {
    std::size_t found = 0;
    for (std::size_t i = page.find(part); i != std::string::npos; i = page.find(part, i + 1)) ++found;
    return found;
  };
  CHECK(count("<section class=\"chapter\"") == chapters.size());
  CHECK(count("<option ") == chapters.size());
  CHECK(count("id=\"hatch\"") == 1);
  CHECK(count("size:A4 landscape") == 1);
  CHECK(html_text(chapters, true).find("size:letter landscape") != std::string::npos);
  CHECK(html_text({chapters.front()}).find("<select") == std::string::npos);
}

}  // namespace
