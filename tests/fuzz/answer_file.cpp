// A file of answers, whatever stands in it: a dialogue comes to its end, or the file is refused with the
// line.
#include <cstdint>
#include <string>

#include "tests/fuzz/must.h"
#include "tools/base/unusable.h"
#include "tools/commands/diagnose_answers.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using tests::must;

const char* const told = DRYBUS_SOURCE_DIR "/scenarios/reports/the-fourth-just-sits-there.yaml";

/// Few hypotheses, so that many dialogues can be held.
model::Diagnosis diagnosed(const model::Report& report, const model::Catalogue& catalogue) {
  model::DiagnosisBounds bounds;
  bounds.most_runs = 60;
  return model::diagnose(report, catalogue, bounds);
}

struct Known {
  model::Report report = tools::load_report(told).report;
  model::Catalogue catalogue = tools::load_catalogue(told);
  model::Diagnosis diagnosis = diagnosed(report, catalogue);
};

void feed(std::string text) {
  static const Known known;
  model::Diagnosis diagnosis = known.diagnosis;
  tools::AnswerFile answers{"fuzz.txt", std::move(text), true};
  try {
    const auto asked = tools::ask(known.report, known.catalogue, diagnosis, answers);
    must(!diagnosis.explanations.empty() || !asked.empty());
  } catch (const tools::Unusable& refused) {
    must(std::string{refused.what()}.starts_with("fuzz.txt:"));
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
