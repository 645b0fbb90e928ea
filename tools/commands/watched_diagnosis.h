// A diagnosis in front of somebody: it says on a terminal how far it is, and Ctrl-C takes the best answer so far.
#pragma once

#include "model/diagnosis/catalogue.h"
#include "model/diagnosis/diagnosis.h"
#include "model/diagnosis/report.h"

namespace drybus::tools {

/// Throws Unusable when what was told is too much to run.
model::Diagnosis diagnose_watched(const model::Report& report, const model::Catalogue& catalogue);

}  // namespace drybus::tools
