// drybus family: a device generation read back in words and drawn, what is doubtful about it, and where two part.
#include <fmt/format.h>

#include <boost/json.hpp>
#include <chrono>

#include "model/record/describe.h"
#include "model/suite/mutant_hunt.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/wrap.h"
#include "tools/commands/check_coverage.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/options/command_line.h"
#include "tools/picture/machine_picture.h"
#include "tools/picture/svg.h"
#include "tools/view/family_view.h"

namespace drybus::tools {

using model::msg;
using model::plural;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

struct Loaded {
  std::string file;
  model::Family family;
};

/// A file, or the name of a family that ships.
Loaded load(const std::string& word) {
  LoadedFamily loaded = load_family(word);
  return {loaded.sources[0].path, std::move(loaded.family)};
}

json::array remarks_json(const std::vector<model::MachineRemark>& remarks) {
  json::array all;
  for (const model::MachineRemark& remark : remarks) {
    all.push_back({{"device", remark.plate ? "plate" : "module"},
                   {"line", remark.line},
                   {"text", remark.text},
                   {"expected", remark.expected}});
  }
  return all;
}

json::array differences_json(const std::vector<FamilyDifference>& differences) {
  json::array all;
  for (const FamilyDifference& each : differences)
    all.push_back({{"what", each.what}, {"one", each.one}, {"other", each.other}});
  return all;
}

/// How often scenarios come through each part of the family's machines.
std::optional<model::FamilyVisits> visits_of(const Loaded& loaded, const CommandLine& line) {
  const auto path = line.optional_text("suite");
  if (!path) return std::nullopt;
  const std::vector<std::string> paths{*path};
  const model::Coverage coverage = coverage_of(load_suite(scenario_files(paths), 0), 0);
  const auto found = coverage.families().find(loaded.family.name);
  if (found == coverage.families().end())
    throw Unusable{tr("--suite {}: no device of {} there", *path, loaded.family.name)};
  return found->second;
}

int read_back(const Loaded& loaded, const CommandLine& line) {
  const auto remarks = model::remarks_on(loaded.family);
  const auto visits = visits_of(loaded, line);
  if (line.has("output")) {
    const auto picture = picture::machine_picture(loaded.family, visits ? &*visits : nullptr);
    write_file(line.text("output"), picture::svg_text(picture));
  }
  if (line.json_wanted()) {
    print_out(json_text(json::object{{"family", loaded.family.name}, {"remarks", remarks_json(remarks)}}) +
              "\n");
  } else {
    print_out(family_text(loaded.family));
    print_out(remarks.empty() ? "\n" + tr("Nothing about these machines is doubtful.\n")
                              : "\n" + tr("Doubtful:\n{}", remarks_text(remarks, loaded.file)));
  }
  return remarks.empty() ? exit_fine : exit_failed;
}

/// A plate, a new module and one that has its address; nobody has done anything yet.
model::Scenario small_install(const model::Family& family) {
  model::Scenario scenario;
  model::Site& site = scenario.site;
  site.family = family;
  site.places = {{"site"}};
  site.walks = model::shortest_walks(1, {}, std::chrono::seconds{20});
  const std::uint8_t number = family.module.factory_site == 2 ? 3 : 2;
  model::ModuleMemory addressed = factory_memory(family.module);
  addressed.address = {number, 1, 2};
  addressed.power_up = model::PowerUp::off;
  model::PlateSpec plate{"P1", "", 0, number, 1};
  site.plates.push_back(plate);
  site.modules.push_back({"M1", "", 0, {}, {}, factory_memory(family.module)});
  site.modules.push_back({"M2", "", 0, {}, {}, addressed});
  sim::MediumSpec medium{family.medium, family.bus, {0, 1, 2}, {}};
  medium.links = {{0, 1}, {1, 2}};
  if (family.medium == sim::MediumKind::radio) medium.links.push_back({0, 2});
  build_network(site, {medium});
  scenario.people = {{"installer", 0, {}}};
  scenario.files = {"small install"};
  return scenario;
}

/// The shortest thing that an installer can do so that the two differ in some fact; only where a press means the same
/// button on both.
std::string scenario_that_shows(const Loaded& one, const Loaded& other, const CommandLine& line) {
  if (one.family.plate.buttons != other.family.plate.buttons ||
      one.family.module.button != other.family.module.button)
    return tr("Their buttons differ: nothing that is pressed on the one can be pressed on the other.\n");
  const model::Scenario start = small_install(one.family);
  const model::Mutant mutant{other.file, one.family.name, [&](model::Family& family) {
                               const std::string name = std::move(family.name);
                               family = other.family;
                               family.name = name;
                             }};
  const model::Scenario* const starts[] = {&start};
  const model::MutantHunt hunt =
      hunt_killer(mutant, starts, model::hunt_options_for(line.number("states", 1000, 100'000'000)));
  if (!hunt.killer) return tr("Nothing that an installer can do shows it within {} states.\n", hunt.states);
  std::string text = tr("Shown by:\n");
  for (const model::Step& step : hunt.killer->steps)
    text += fmt::format("  {}\n", describe(hunt.killer->scenario, step));
  const model::Difference& difference = hunt.killer->difference;
  return text + tr("then, at {}, {}.{} is {}; with {} it is {}\n", model::clock_text(difference.at),
                   hunt.killer->scenario.site.name(difference.device), to_string(difference.fact),
                   difference.wanted, other.file, difference.actual);
}

int compare(const Loaded& one, const Loaded& other, const CommandLine& line) {
  const auto parts = differences(one.family, other.family);
  const std::string shown = parts.empty() ? std::string{} : scenario_that_shows(one, other, line);
  if (line.json_wanted()) {
    print_out(json_text(json::object{{"one", one.family.name},
                                     {"other", other.family.name},
                                     {"differences", differences_json(parts)},
                                     {"shown_by", shown}}) +
              "\n");
  } else if (parts.empty()) {
    print_out(tr("{} and {} do the same.\n", one.family.name, other.family.name));
  } else {
    std::string text = plural("{} and {} part in {} points:\n", "{} and {} part in {} points:\n",
                              parts.size(), one.family.name, other.family.name, parts.size());
    for (const FamilyDifference& part : parts) {
      text += fmt::format("  {}\n", part.what);
      const std::string first = tr("    one:   ");
      const std::string second = tr("    other: ");
      text += paragraph(part.one, 110, first, std::string(columns(first), ' '));
      text += paragraph(part.other, 110, second, std::string(columns(second), ' '));
    }
    print_out(text + "\n" + shown);
  }
  return parts.empty() ? exit_fine : exit_failed;
}

}  // namespace

int family_command(Arguments arguments) {
  CommandLine line{"drybus family FILE|NAME [OTHER] [options]"};
  line.offer_output("output,o", msg("SVG: its machines as a picture").data());
  line.add()(
      "suite", po::value<std::string>(),
      msg("with -o: how often each row and state is come through by the scenarios below this path").data());
  line.add()("states", po::value<std::string>()->default_value("20000"),
             msg("with OTHER: how many states the search for the shortest difference may meet, 1000 or more")
                 .data());
  line.offer_json();
  line.take_words("FILE", 1, 2);
  if (!line.parse(arguments)) return exit_fine;
  const auto& words = line.words();
  const Loaded one = load(words[0]);
  if (line.has("suite") && !line.has("output"))
    throw Unusable{tr("--suite goes with -o: its counts stand in the picture")};
  if (words.size() == 1) return read_back(one, line);
  if (line.has("output"))
    throw Unusable{tr("-o draws one family; with two of them there is nothing to draw")};
  return compare(one, load(words[1]), line);
}

}  // namespace drybus::tools
