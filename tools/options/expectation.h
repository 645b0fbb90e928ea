// An expectation as words on a command line: "M1.address is 23/4/1", "M2.mode = setup", "M1.load is not dark".
#pragma once

#include <string>

#include "model/people/script.h"

namespace drybus::tools {

struct Expectation {
  model::Check check;
  bool negated = false;  ///< "is not", "!="
};

/// Throws Unusable with what was expected and the nearest right words.
Expectation read_expectation(const model::Scenario& scenario, const std::string& text);

}  // namespace drybus::tools
