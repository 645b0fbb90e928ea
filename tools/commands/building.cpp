// drybus building: a made-up building of any size on an ordinary day, as a scenario.
#include <fmt/format.h>

#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/command.h"
#include "tools/commands/made_up_building.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;

BuildingSize wanted_size(const CommandLine& line, const model::Family& family) {
  if (family.plate.site_switches.largest() < 2)
    throw Unusable{
        tr("--family {}: its site switches show too few numbers for a building", line.text("family"))};
  BuildingSize size;
  const auto number = [&](const char* option, std::uint64_t most) {
    return static_cast<std::uint32_t>(line.number(option, 1, most));
  };
  size.modules_per_plate = number("modules", family.plate.channels);
  size.plates_per_bus = number("per-bus", family.plate.zone_switches.largest());
  // As many as a scenario file can hold.
  size.plates = number("plates", 10'000 / (size.modules_per_plate + 8));
  return size;
}

}  // namespace

int building_command(Arguments arguments) {
  CommandLine line{"drybus building [options]"};
  line.add()("plates", po::value<std::string>()->default_value("10"),
             msg("how many rooms, a plate in each").data());
  line.add()("modules", po::value<std::string>()->default_value("10"), msg("for each plate").data());
  line.add()("per-bus", po::value<std::string>()->default_value("10"), msg("plates on one bus").data());
  line.add()("family", po::value<std::string>()->default_value("wired-keypad"), msg("of all devices").data());
  line.add()("seed", po::value<std::string>()->default_value("1"), msg("draws when people do what").data());
  line.offer_output("output,o", msg("write the scenario there").data(), "-");
  line.take_words("", 0, 0);
  if (!line.parse(arguments)) return exit_fine;

  const std::filesystem::path output = line.text("output");
  LoadedScenario loaded;
  loaded.family_ref = line.text("family");
  const LoadedFamily family = load_family(loaded.family_ref);
  loaded.family_file = family.sources[0].path;
  loaded.scenario = building(family.family, wanted_size(line, family.family), line.number("seed"));
  loaded.spots.resize(loaded.scenario.site.places.size());
  const auto folder =
      output == "-" ? std::filesystem::current_path() : std::filesystem::absolute(output).parent_path();
  write_file(output, write_scenario(loaded, {folder, {}}));
  return exit_fine;
}

}  // namespace drybus::tools
