#include "tools/view/loads_view.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <cmath>
#include <map>

#include "model/words/words.h"
#include "tools/base/wrap.h"
#include "tools/base/xml.h"

namespace drybus::tools {

namespace json = boost::json;
using model::DeviceId;
using model::LoadRow;
using model::plural;
using model::SupplyReport;
using model::tr;
using model::tr_as;
using model::with_decimal_mark;

namespace {

std::string deferral() {
  return tr(
      "An estimate for planning: copper at {} after IEC 60228, {} more for each {} above. Local codes, the "
      "makers' papers and a licensed person decide.",
      "20 °C", "4 %", "10 °C");
}

std::string number(double value) {
  return with_decimal_mark(fmt::format("{:g}", value));
}

/// "320 W of 400 W trailing-edge (80 %), at least 5 W".
std::string load_text(const LoadRow& row) {
  const std::string power = fmt::format("{} W", number(row.load.watts));
  const std::string method{spoken(row.load.method)};
  if (!row.rating) return tr("{} {}, of which nothing is known", power, method);
  std::string text = tr("{} of {} W {}", power, number(row.rating->most_w), method);
  if (row.rating->most_w > 0) text += fmt::format(" ({:.0f} %)", 100 * row.load.watts / row.rating->most_w);
  return row.rating->least_w > 0 ? text + tr(", at least {} W", number(row.rating->least_w)) : text;
}

std::string bus_name(const model::Site& site, const SupplyReport& supply) {
  const std::string fed_at = site.node_name(site.cables[supply.medium]->fed_at);
  return site.network.media.size() == 1 ? tr("Fed at {}", fed_at)
                                        : tr("Bus {}, fed at {}", supply.medium + 1, fed_at);
}

std::string supply_text(const model::Site& site, const SupplyReport& supply) {
  const model::SupplyCable& cable = *site.cables[supply.medium];
  const model::SupplyRating& rating = *site.family.supply;
  std::string text = tr("{}: {} V, {:.0f} mA of {:.0f} mA; {} m of {} class {}", bus_name(site, supply),
                        number(rating.volts), 1000 * supply.amperes, 1000 * rating.most_amperes,
                        number(supply.cable_m), number(cable.core_mm2) + " mm²", cable.conductor_class);
  if (supply.furthest == model::no_device) return text + ".";
  return text + tr("; {} gets least, {} V (works from {} V).", site.name(supply.furthest),
                   with_decimal_mark(fmt::format("{:.2f}", std::max(supply.least_volts, 0.0))),
                   number(rating.least_volts));
}

/// The circuits that are nearest to their ratings, or beyond them, the nearest first.
std::vector<LoadRow> fullest(const model::LoadReport& loads, std::size_t count) {
  const auto share = [](const LoadRow& row) {
    return row.rating && row.rating->most_w > 0 ? row.load.watts / row.rating->most_w : 0.0;
  };
  std::vector<LoadRow> rows = loads.rows;
  std::stable_sort(rows.begin(), rows.end(),
                   [&](const LoadRow& a, const LoadRow& b) { return share(a) > share(b); });
  rows.resize(std::min(rows.size(), count));
  return rows;
}

std::string totals_text(const model::LoadReport& loads) {
  std::map<model::Dimming, std::pair<std::size_t, double>> totals;
  for (const LoadRow& row : loads.rows) {
    ++totals[row.load.method].first;
    totals[row.load.method].second += row.load.watts;
  }
  std::string text;
  for (const auto& [method, total] : totals) {
    text +=
        (text.empty() ? "" : ", ") + plural("{} W on {} {} circuit", "{} W on {} {} circuits", total.first,
                                            number(total.second), total.first, spoken(method));
  }
  if (!loads.unsaid.empty())
    text += (text.empty() ? "" : ", ") + tr("{} with a load that the site does not say", loads.unsaid.size());
  return text + ".";
}

bool nothing_said(const model::LoadReport& loads) {
  return loads.rows.empty() && loads.supplies.empty();
}

}  // namespace

std::string loads_text(const PlanReport& report) {
  if (nothing_said(report.loads)) return {};
  const model::Site& site = report.plan.site;
  std::string text = "\n" + tr("Loads") + "\n" + paragraph(totals_text(report.loads), 110, "  ", "  ");
  constexpr std::size_t shown = 8;
  for (const LoadRow& row : fullest(report.loads, shown))
    text += paragraph(fmt::format("{}: {}", site.title(row.module), load_text(row)), 110, "  ", "      ");
  if (report.loads.rows.size() > shown)
    text += "  " + tr("(the {} fullest; all of them on the sheet and in JSON)", shown) + "\n";
  if (!report.loads.supplies.empty()) text += "\n" + tr("Bus supply") + "\n";
  for (const SupplyReport& supply : report.loads.supplies)
    text += paragraph(supply_text(site, supply), 110, "  ", "      ");
  return text + paragraph(deferral(), 110, "  ", "  ");
}

std::string load_of(const PlanReport& report, DeviceId module) {
  for (const LoadRow& row : report.loads.rows) {
    if (row.module == module) return load_text(row);
  }
  return {};
}

std::string loads_html(const PlanReport& report) {
  if (nothing_said(report.loads)) return {};
  const model::Site& site = report.plan.site;
  std::string html =
      fmt::format("<h2>{}</h2>\n<p>{}</p>\n", tr("Loads and bus supply"), totals_text(report.loads));
  for (const SupplyReport& supply : report.loads.supplies)
    html += fmt::format("<p>{}</p>\n", xml_escaped(supply_text(site, supply)));
  return html + fmt::format("<p class=\"small\">{}</p>\n", deferral());
}

json::object loads_json(const PlanReport& report) {
  const model::Site& site = report.plan.site;
  json::array rows, unsaid, supplies;
  for (const LoadRow& row : report.loads.rows) {
    rows.push_back(json::object{{"module", site.name(row.module)},
                                {"power_w", row.load.watts},
                                {"dimming", to_string(row.load.method)},
                                {"least_w", row.rating ? json::value(row.rating->least_w) : json::value{}},
                                {"most_w", row.rating ? json::value(row.rating->most_w) : json::value{}}});
  }
  for (const DeviceId module : report.loads.unsaid) unsaid.push_back(json::value(site.name(module)));
  for (const SupplyReport& supply : report.loads.supplies) {
    json::object volts;
    const auto& nodes = site.network.media[supply.medium].nodes;
    for (std::size_t i = 0; i < nodes.size(); ++i) {
      const bool fed = !std::isnan(supply.volts[i]);
      volts[site.node_name(nodes[i])] = fed ? json::value(supply.volts[i]) : json::value{};
    }
    supplies.push_back(json::object{{"bus", supply.medium + 1},
                                    {"fed_at", site.node_name(site.cables[supply.medium]->fed_at)},
                                    {"current_a", supply.amperes},
                                    {"cable_m", supply.cable_m},
                                    {"volts", std::move(volts)}});
  }
  return {{"rows", std::move(rows)}, {"unsaid", std::move(unsaid)}, {"supplies", std::move(supplies)}};
}

}  // namespace drybus::tools
