// A cure for what is told in a report: one that works under every explanation that still counts.
#pragma once

#include "model/diagnosis/diagnosis.h"
#include "model/diagnosis/report.h"
#include "model/recovery/recover.h"

namespace drybus::model {

struct ReportRecoverOptions {
  RecoverOptions recover{.of_this_moment = false};
  double least_probability = 0.01;  ///< explanations that are less probable do not count
};

struct ReportCure {
  Cure cure;
  std::vector<std::uint32_t>
      explanations;        ///< indices into Diagnosis::explanations: those that it works under
  double probability = 0;  ///< of all of them together
  /// Indices into Report::seen: what none of those explanations leads to. While there is any, "nothing to do" is
  /// never the answer: a lamp that blinked is brought out of setup, and else there is no cure.
  std::vector<std::uint32_t> unexplained;
  /// What to do should anything be amiss after that, for then none of the explanations was right: everything
  /// afresh. Works under all explanations, whatever their probability.
  Cure otherwise;
};

ReportCure recover(const Report& report, const Diagnosis& diagnosis,
                   const ReportRecoverOptions& options = {});

}  // namespace drybus::model
