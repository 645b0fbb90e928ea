// Pictures: nothing overlaps, everything can be read, hidden truth stays hidden.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/pictures.h"
#include "tests/support/script_text.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"
#include "tools/load/load.h"
#include "tools/picture/html.h"
#include "tools/picture/page.h"
#include "tools/picture/palette.h"
#include "tools/picture/svg.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools::picture;

// --- every label has its own place ---

TEST_CASE("labels that overlap or leave the page are found by the check that the others rely on") {
  Picture picture;
  picture.width = 200;
  picture.height = 100;
  picture.labels = {
      {{10, 50}, "accept", {16, false}}, {{50, 55}, "off", {16, false}}, {{190, 90}, "wide", {16, false}}};
  CHECK(misplaced(picture).size() == 2);
}

TEST_CASE("in every shipped scenario each label has its own place on the page, whatever the width") {
  const auto paths = shipped_scenarios();
  REQUIRE(paths.size() >= 18);
  for (const std::string& path : paths) {
    const auto loaded = tools::load_scenario(path);
    for (const double width : {800.0, 1280.0, 1920.0}) {
      PictureOptions options;
      options.width = width;
      check_places(picture_of(loaded.scenario, options), fmt::format("{} at {}", path, width));
    }
  }
}

TEST_CASE("in random scenarios each label has its own place on the page") {
  for (const std::uint64_t seed : test::seeds(150)) {
    INFO(test::replay(seed, "in random scenarios each label has its own place on the page"));
    PictureOptions options;
    options.width = seed % 3 == 0 ? 800 : 1280;
    check_places(picture_of(random_scenario(seed), options), fmt::format("seed {}", seed));
  }
}

// --- legible ---

/// WCAG 2.1, definitions of relative luminance and contrast ratio.
double luminance(std::string_view colour) {
  const auto part = [&](std::size_t at) {
    const double c = std::stoi(std::string{colour.substr(at, 2)}, nullptr, 16) / 255.0;
    return c <= 0.03928 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5);
}

double contrast(std::string_view a, std::string_view b) {
  const double lighter = std::max(luminance(a), luminance(b));
  const double darker = std::min(luminance(a), luminance(b));
  return (lighter + 0.05) / (darker + 0.05);
}

TEST_CASE("contrast is computed as WCAG has it") {
  CHECK(contrast("#000000", "#ffffff") == doctest::Approx(21));
  CHECK(contrast("#777777", "#ffffff") ==
        doctest::Approx(4.48).epsilon(0.002));  // the well-known grey that just fails
}

TEST_CASE("all text stands out from its ground by 4.5 : 1, and none is smaller than 14 px") {
  std::set<std::pair<Ink, Ground>> pairs;
  for (const std::string& path : shipped_scenarios()) {
    const Picture picture = picture_of(tools::load_scenario(path).scenario);
    for (const Label& label : picture.labels) {
      pairs.insert({label.ink, label.ground});
      CHECK_MESSAGE(label.style.size >= 14, label.text);
    }
  }
  CHECK(pairs.size() >= 6);
  for (const auto& [ink, ground] : pairs) CHECK(contrast(colour(ink), colour(ground)) >= 4.5);
}

TEST_CASE("what matters is written large: who, setup, time-outs, addresses, assigns, findings") {
  auto scenario = small_scenario(1);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.hold("M1", 0, 4s).wait(200s);
  const Picture picture = picture_of(scenario);
  std::map<std::string, double> sizes;
  for (const Label& label : picture.labels) sizes[label.text] = std::max(sizes[label.text], label.style.size);
  for (const char* text : {"P1", "M1", "setup", "time-out 150 s", "23/4/1", "assign 23/4/1", "small site"}) {
    CHECK_MESSAGE(sizes[text] >= 18, text);
  }
}

TEST_CASE("every look has a class, and every class a rule") {
  const std::string rules{style_sheet()};
  std::set<std::string_view> names;
  for (std::size_t i = 0; i < look_count; ++i) {
    const std::string_view name = class_name(static_cast<Look>(i));
    CHECK_MESSAGE(!name.empty(), i);
    CHECK_MESSAGE(names.insert(name).second, name << " twice");
    CHECK_MESSAGE(rules.find(fmt::format(".{}{{", name)) != std::string::npos, name);
  }
}

// --- hidden ---

TEST_CASE("with hidden truth left out there is no mode, no address, no telegram and no cause in the file") {
  const auto loaded = tools::load_scenario(DRYBUS_SOURCE_DIR "/scenarios/training/setup-split.yaml");
  PictureOptions covered;
  covered.hide_hidden = true;
  const Picture open = picture_of(loaded.scenario);
  const Picture shut = picture_of(loaded.scenario, covered);
  for (const char* hidden : {"time-out 240 s", "assign 23/4/1", "setup-split", "no address"}) {
    CHECK_MESSAGE(says(open, hidden), hidden);
    CHECK_MESSAGE(!says(shut, hidden), hidden);
    CHECK_MESSAGE(html_text({shut}).find(hidden) == std::string::npos, hidden);
  }
  for (const Mark& mark : shut.marks) CHECK(mark.telling.because.empty());
  CHECK(says(shut, "accept"));
}

TEST_CASE("a lamp or a load is hidden while nobody stands where it shows") {
  auto scenario = small_scenario(1);
  scenario.site.places = {{"hall"}, {"attic"}};
  scenario.site.walks = model::shortest_walks(2, {{0, 1, 40s}}, 40s);
  scenario.site.modules[0].place = 1;
  Script{scenario}.hold("P1", set, 3s).wait(20s);
  const Picture picture = picture_of(scenario);
  for (const Mark& mark : picture.marks) {
    const bool load = std::any_of(mark.shapes.begin(), mark.shapes.end(),
                                  [](const Shape& s) { return s.look == Look::load; });
    if (load && !mark.telling.what.empty()) CHECK(mark.shown == Shown::revealed);
  }
}

// --- large sites ---

TEST_CASE("of a large site only those show to whom something happened; alike ones share a lane") {
  auto scenario = small_scenario(48);
  for (auto& module : scenario.site.modules) module.memory.address = {23, 4, 1};
  scenario.site.modules[5].memory.address = {9, 9, 9};
  Script{scenario}.hold("M1", 0, 4s).press("P1", up).wait(2s);
  const Picture picture = picture_of(scenario);
  CHECK(says(picture, "M2, M3 and 44 more"));
  CHECK(says(picture, "M6"));  // its address is another: it has a lane of its own
  CHECK(picture.height < 1400);
}

// --- files ---

TEST_CASE("labels and titles cannot break out of the file") {
  auto scenario = small_scenario(1);
  const std::string evil = "<script>&\"'alert(1)</script>\x01\xff";
  scenario.title = evil;
  scenario.about = evil;
  scenario.site.modules[0].label = evil;
  scenario.site.places[0].name = evil;
  scenario.people[0].name = evil;
  Script{scenario}.press("M1");
  scenario.people[0].script[0].text = evil;
  const Picture picture = picture_of(scenario);
  for (const std::string& text : {svg_text(picture), html_text({picture})}) {
    CHECK(text.find("<script>&") == std::string::npos);
    CHECK(text.find("alert(1)<") == std::string::npos);
    CHECK(text.find('\x01') == std::string::npos);
    CHECK(text.find('\xff') == std::string::npos);
    CHECK(text.find("&lt;script&gt;&amp;&quot;") != std::string::npos);
  }
  const std::string page = html_text({picture});
  std::size_t scripts = 0;
  for (std::size_t i = page.find("<script"); i != std::string::npos; i = page.find("<script", i + 1))
    ++scripts;
  CHECK(scripts == 1);
}

TEST_CASE("the same run gives the same picture, byte for byte") {
  const auto loaded = tools::load_scenario(DRYBUS_SOURCE_DIR "/scenarios/training/telegram-lost.yaml");
  CHECK(svg_text(picture_of(loaded.scenario)) == svg_text(picture_of(loaded.scenario)));
}

}  // namespace
