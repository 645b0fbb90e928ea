// Findings below a row: each a bar from its beginning to its end, with its number.
#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/row.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr std::size_t most_tiers = 10;
constexpr double disc_room = 2 * disc_radius + 6;

/// Finds the first tier in which a stretch is free.
class Tiers {
 public:
  /// None: all of the first `most` are taken there.
  std::optional<std::size_t> take(double left, double right, std::size_t most) {
    std::size_t tier = 0;
    while (tier < tiers_.size() && !free(tier, left, right)) ++tier;
    if (tier == most) return std::nullopt;
    if (tier == tiers_.size()) tiers_.emplace_back();
    tiers_[tier].push_back({left, right});
    return tier;
  }
  [[nodiscard]] std::size_t count() const { return tiers_.size(); }

 private:
  [[nodiscard]] bool free(std::size_t tier, double left, double right) const {
    return std::none_of(tiers_[tier].begin(), tiers_[tier].end(), [&](const Taken& taken) {
      return left < taken.right + 10 && taken.left < right + 10;
    });
  }
  struct Taken {
    double left;
    double right;
  };
  std::vector<std::vector<Taken>> tiers_;
};

/// Whether it is told below these lanes: where they are a part, it is about somebody among them.
bool concerns(const LaneChoice& lanes, const FindingSpan& finding) {
  return !lanes.part || finding.about.empty() ||
         std::any_of(finding.about.begin(), finding.about.end(),
                     [&](DeviceId device) { return lanes.shows(device); });
}

}  // namespace

double RowDrawer::draw_findings(double top) {
  const double tier_height = sizes_.tier;
  Tiers tiers;
  bool any = false;
  std::size_t untold = 0;
  for (std::size_t i = 0; i < timeline_.findings.size(); ++i) {
    const FindingSpan& finding = timeline_.findings[i];
    if (!span_.touches(finding.from, finding.to) || !concerns(choice_, finding)) continue;
    any = true;
    const Box bar = band(finding.from, finding.to, 0, 5, 10);
    std::string text = fmt::format("{}: {}", to_string(finding.id), names_text(timeline_, finding.about, 3));
    text = fitted(text, plot_width() - disc_room, strong_style);
    const double words = disc_room + text_width(text, strong_style);
    const double left = std::min(bar.x, plot_right() - words);
    const auto tier = tiers.take(left, std::max(bar.right(), left + words), most_tiers);
    if (!tier) {
      ++untold;
      continue;
    }
    const double y = top + tier_height * static_cast<double>(*tier);
    Telling telling{std::string{to_string(finding.id)},
                    finding.open ? tr("from {}", clock_text(finding.from))
                                 : tr("{} to {}", clock_text(finding.from), clock_text(finding.to)),
                    {},
                    finding.from};
    Mark mark{Layer::marks, Shown::revealed, {}, std::move(telling)};
    mark.shapes.push_back({Look::finding, {bar.x, y + tier_height - 9, bar.width, 5}, {}});
    if (finding.open && span_.last) {
      const Point tip{bar.right(), y + tier_height - 6.5};
      const Point head[] = {tip, {tip.x - 10, tip.y - 6}, {tip.x - 10, tip.y + 6}};
      mark.shapes.push_back({Look::finding, {}, polygon_path(head)});
    }
    const Point disc{left + disc_radius, y + 12};
    mark.shapes.push_back({Look::disc, {}, circle_path(disc, disc_radius)});
    canvas_.draw(std::move(mark));
    const std::string number = fmt::format("{}", i + 1);
    canvas_.write({{disc.x, disc.y + 5.5},
                   number,
                   second_strong_style,
                   Anchor::middle,
                   Ink::paper,
                   Ground::alarm,
                   Shown::revealed});
    canvas_.write({{left + disc_room, y + 2 + baseline(strong_style)},
                   text,
                   strong_style,
                   Anchor::start,
                   Ink::alarm,
                   Ground::paper,
                   Shown::revealed});
  }
  if (!any) return top;
  double end = top + tier_height * static_cast<double>(tiers.count());
  if (untold != 0) {
    canvas_.write({{plot_left, end + baseline(second_style)},
                   tr("and {} more that begin or go on here", untold),
                   second_style,
                   Anchor::start,
                   Ink::alarm,
                   Ground::paper,
                   Shown::revealed});
    end += line_height(second_style);
  }
  canvas_.write({{page_margin + 4, top + 2 + baseline(main_style)},
                 tr("out of step"),
                 main_style,
                 Anchor::start,
                 Ink::alarm,
                 Ground::paper,
                 Shown::revealed});
  return end;
}

}  // namespace drybus::tools::picture
