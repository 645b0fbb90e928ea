#include "tools/export/record_lines.h"

#include <boost/json.hpp>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/export/who.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {

std::string who_name(const model::Scenario& scenario, const sim::Entry& entry) {
  switch (who_is(model::what(entry))) {
    case Who::nobody:
      return {};
    case Who::person:
      return scenario.people[entry.who].name;
    case Who::node:
      return scenario.site.node_name(entry.who);
  }
  return {};
}

}  // namespace

std::string spoken_record_lines(const model::Scenario& scenario, const sim::Record& record) {
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
    text += json_text(line) + "\n";
  }
  return text;
}

std::string record_lines(const model::Scenario& scenario, const sim::Record& record) {
  const model::Speaking english{nullptr};
  return spoken_record_lines(scenario, record);
}

}  // namespace drybus::tools
