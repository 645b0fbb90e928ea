// Results as JUnit XML, the form that continuous-integration servers read.
#pragma once

#include <span>
#include <string>

namespace drybus::tools {

struct JunitCase {
  std::string name;
  double seconds = 0;            ///< that it took
  double simulated_seconds = 0;  ///< on its own clock
  std::string failure;  ///< empty: none
  std::string error;    ///< why it could not be run at all; empty: it could
};

std::string junit_xml(const std::string& suite, std::span<const JunitCase> cases);

}  // namespace drybus::tools
