#include "tools/commands/watched_diagnosis.h"

#include <stdexcept>

#include "model/words/words.h"
#include "tools/base/interruptible.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

model::Diagnosis diagnose_watched(const model::Report& report, const model::Catalogue& catalogue) {
  const Interruptible guard;
  ProgressLine progress;
  model::DiagnosisBounds bounds;
  bounds.stop = &Interruptible::interrupted();
  bounds.progress = [&](double explored) {
    progress.show([&](double) {
      return model::tr("{:.1f} % of what can go wrong gone through (Ctrl-C: the best answer so far)",
                       explored * 100);
    });
  };
  try {
    return model::diagnose(report, catalogue, bounds);
  } catch (const std::length_error& error) {
    throw Unusable{error.what()};
  }
}

}  // namespace drybus::tools
