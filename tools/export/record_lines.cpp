#include "tools/export/record_lines.h"

#include <boost/json.hpp>

#include "model/describe.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {

/// What `who` names depends on the kind of entry.
std::string who_name(const model::Scenario& scenario, const sim::Entry& entry) {
  switch (model::what(entry)) {
    case model::What::began: return {};
    case model::What::step:
    case model::What::walked:
    case model::What::arrived:
    case model::What::checked: return scenario.people[entry.who].name;
    default: return scenario.site.node_name(entry.who);
  }
}

}  // namespace

std::string record_lines(const model::Scenario& scenario, const sim::Record& record) {
  std::string text;
  for (sim::EntryId id = 1; id <= record.size(); ++id) {
    const sim::Entry& entry = record[id];
    const json::object line{{"id", id},
                            {"at_ns", entry.at.time_since_epoch().count()},
                            {"kind", to_string(model::what(entry))},
                            {"who", who_name(scenario, entry)},
                            {"a", entry.a},
                            {"b", entry.b},
                            {"cause", entry.cause},
                            {"because", entry.because},
                            {"text", describe(scenario, entry)}};
    text += json::serialize(line) + "\n";
  }
  return text;
}

}  // namespace drybus::tools
