#include "tools/load.h"

#include "tools/command.h"

namespace drybus::tools {

LoadedScenario load_scenario(const std::string& path) {
  auto reading = read_scenario(path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

}  // namespace drybus::tools
