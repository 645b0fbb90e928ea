// Whatever a report tells: what could explain it is found within bounds, ranked by probabilities, and told.
#include <cmath>
#include <cstdint>
#include <stdexcept>
#include <string>

#include "tests/fuzz/must.h"
#include "tools/load/load.h"
#include "tools/view/diagnosis_view.h"

namespace {

using namespace drybus;
using tests::must;

/// Beside the shipped ones, so that families and the catalogue are found.
const char* const as_if_at = DRYBUS_SOURCE_DIR "/scenarios/reports/fuzz.yaml";
constexpr std::size_t most_runs = 30;
constexpr std::size_t most_events = 200'000;
constexpr std::size_t most_devices = 12;
constexpr std::size_t most_steps = 40;

bool is_small(const model::Report& report) {
  const std::size_t steps = report.believed.people.empty() ? 0 : report.believed.people[0].script.size();
  return report.believed.site.device_count() <= most_devices && steps <= most_steps;
}

bool is_share(double value) {
  return std::isfinite(value) && value >= 0 && value <= 1 + 1e-9;
}

void check(const model::Report& report, const model::Diagnosis& diagnosis) {
  must(is_share(diagnosis.unexplained) && is_share(diagnosis.explored));
  double sum = diagnosis.unexplained;
  double before = 1 + 1e-9;
  for (const model::RankedExplanation& each : diagnosis.explanations) {
    must(is_share(each.probability) && each.probability <= before);
    before = each.probability;
    sum += each.probability;
    must(!each.ways.empty() && !each.text.empty());
    for (const std::uint32_t seen : each.supported) must(seen < report.seen.size());
    for (const std::uint32_t seen : each.contradicted) must(seen < report.seen.size());
  }
  must(is_share(sum));
}

void feed(std::string text) {
  static const model::Catalogue catalogue = tools::load_catalogue(as_if_at);
  const auto reading = tools::read_report_text(std::move(text), as_if_at);
  if (!reading.ok() || !is_small(reading.value().report)) return;
  const model::Report& report = reading.value().report;
  model::DiagnosisBounds bounds;
  bounds.most_runs = most_runs;
  bounds.most_events = most_events;
  try {
    model::Diagnosis diagnosis = model::diagnose(report, catalogue, bounds);
    check(report, diagnosis);
    const auto next = model::next_check(report, diagnosis);
    if (next) {
      must(!next->outcomes.empty() && std::isfinite(next->bits));
      model::narrow(report, catalogue, diagnosis, next->check, next->outcomes.back().text);
      check(report, diagnosis);
    }
    must(!tools::diagnosis_text({report, diagnosis, next}).empty());
    must(!tools::diagnosis_json({report, diagnosis, next}).empty());
  } catch (const std::length_error& refused) {  // a story that is too long to be diagnosed
    must(*refused.what() != '\0');
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
