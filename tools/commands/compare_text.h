// drybus compare in words: a line for each scenario, and two columns where two firmwares part.
#pragma once

#include <boost/json/object.hpp>
#include <string>

namespace drybus::tools {

/// What the two are called, and where what was found was written; empty: nowhere.
struct CompareNames {
  std::string a;
  std::string b;
  std::string output;
};

/// Of one scenario; `outcome` is as --format json has it.
std::string compare_text(const boost::json::object& outcome, const CompareNames& names);

}  // namespace drybus::tools
