#include "tests/support/pictures.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>

#include "sim/random.h"
#include "tests/support/small_site.h"

namespace drybus::tests {

using namespace tools::picture;

Picture picture_of(const model::Scenario& scenario, const PictureOptions& options) {
  const model::RunResult result = model::run(scenario);
  return draw_picture(scenario, result, tools::read_timeline(scenario, result, scenario.seed), options);
}

std::vector<Picture> chapters_of(const model::Scenario& scenario, const PictureOptions& options) {
  const model::RunResult result = model::run(scenario);
  return draw_chapters(scenario, result, tools::read_timeline(scenario, result, scenario.seed), options);
}

std::vector<std::string> misplaced(const Picture& picture) {
  struct Placed {
    Box box;
    const Label* label;
  };
  std::vector<Placed> all;
  for (const Label& label : picture.labels) {
    const double width = tools::text_width(label.text, label.style);
    const double shift = label.anchor == Anchor::start    ? 0
                         : label.anchor == Anchor::middle ? width / 2
                                                          : width;
    const double top = label.at.y - tools::text_ascent * label.style.size;
    all.push_back(
        {{label.at.x - shift, top, width, (tools::text_ascent + tools::text_descent) * label.style.size},
         &label});
  }
  std::vector<std::string> wrong;
  for (const Placed& a : all) {
    if (a.box.x < 0 || a.box.y < 0 || a.box.right() > picture.width || a.box.bottom() > picture.height) {
      wrong.push_back(fmt::format("'{}' leaves the page", a.label->text));
    }
  }
  std::sort(all.begin(), all.end(), [](const Placed& a, const Placed& b) { return a.box.y < b.box.y; });
  for (std::size_t i = 0; i < all.size(); ++i) {
    for (std::size_t j = i + 1; j < all.size() && all[j].box.y < all[i].box.bottom(); ++j) {
      const double across =
          std::min(all[i].box.right(), all[j].box.right()) - std::max(all[i].box.x, all[j].box.x);
      const double down = std::min(all[i].box.bottom(), all[j].box.bottom()) - all[j].box.y;
      if (across > 0.02 && down > 0.02) {
        wrong.push_back(fmt::format("'{}' and '{}' overlap", all[i].label->text, all[j].label->text));
      }
    }
  }
  for (const std::string& text : picture.left_out) wrong.push_back(fmt::format("'{}' found no room", text));
  return wrong;
}

void check_places(const Picture& picture, const std::string& what) {
  const auto wrong = misplaced(picture);
  CHECK_MESSAGE(wrong.empty(), what << ": " << (wrong.empty() ? "" : wrong.front()) << " and "
                                    << wrong.size() - 1 << " more");
}

bool says(const Picture& picture, std::string_view text) {
  return std::any_of(picture.labels.begin(), picture.labels.end(),
                     [&](const Label& label) { return label.text.find(text) != std::string::npos; });
}

model::Scenario random_scenario(std::uint64_t seed) {
  sim::Stream stream{seed, sim::Purpose::generator, 0, 0};
  const auto below = [&](std::uint64_t n) { return stream.below(n); };
  const std::size_t sizes[] = {1, 2, 4, 9, 60};
  auto scenario = small_scenario(sizes[below(5)], 1 + below(3));
  const std::string labels[] = {"",
                                "Hall",
                                "A label that goes on and on, far beyond what any lane has room for",
                                "Küche über Eck",
                                "<script>&\"",
                                "Ламπочка",
                                "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW"};
  for (auto& module : scenario.site.modules) module.label = labels[below(7)];
  for (auto& plate : scenario.site.plates) plate.label = labels[below(7)];
  scenario.title = labels[below(7)];
  scenario.about = labels[below(7)] + "\n" + labels[below(7)];
  scenario.site.places = {{"hall"}, {labels[1 + below(6)]}};
  scenario.site.walks = model::shortest_walks(2, {{0, 1, 7s}}, 7s);
  for (auto& module : scenario.site.modules) module.place = static_cast<model::PlaceId>(below(2));
  scenario.people.push_back({labels[1 + below(6)], 0, {}});
  const sim::Duration waits[] = {10ms, 300ms, 4s, 70s, 200s, 2h};
  for (std::size_t person = 0; person < 2; ++person) {
    Script script{scenario, person};
    for (std::uint64_t i = below(40); i > 0; --i) {
      const std::string plate = fmt::format("P{}", 1 + below(scenario.site.plates.size()));
      const std::string module = fmt::format("M{}", 1 + below(scenario.site.modules.size()));
      model::Fault fault;
      fault.kind = below(2) == 0 ? model::FaultKind::open : model::FaultKind::mend;
      fault.link = static_cast<std::uint32_t>(below(scenario.site.network.links.size()));
      switch (below(10)) {
        case 0:
        case 1:
        case 2:
          script.press(plate, static_cast<model::Button>(below(6)));
          break;
        case 3:
          script.hold(plate, set, 3s);
          break;
        case 4:
          script.hold(module, 0, 4s);
          break;
        case 5:
          script.press(module);
          break;
        case 6:
          script.wait(waits[below(6)]);
          break;
        case 7:
          script.power(below(4) == 0 ? "all" : module, below(2) == 0);
          break;
        case 8:
          script.fault(fault);
          break;
        default:
          script.look(module, model::Fact::indicator, "blink");
          break;
      }
      if (below(6) == 0) scenario.people[person].script.back().text = labels[1 + below(6)];
    }
  }
  return scenario;
}

}  // namespace drybus::tests
