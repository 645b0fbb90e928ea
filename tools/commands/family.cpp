// drybus family: a device generation read back in words and drawn, what is doubtful about it, and where two part.
#include <fmt/format.h>

#include <boost/json.hpp>

#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/wrap.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"
#include "tools/picture/machine_picture.h"
#include "tools/picture/svg.h"
#include "tools/view/family_view.h"

namespace drybus::tools {

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
  for (const FamilyDifference& each : differences) all.push_back({{"what", each.what}, {"one", each.one}, {"other", each.other}});
  return all;
}

int read_back(const Loaded& loaded, const CommandLine& line) {
  const auto remarks = model::remarks_on(loaded.family);
  if (line.has("output")) write_file(line.text("output"), picture::svg_text(picture::machine_picture(loaded.family)));
  if (line.json_wanted()) {
    print_out(json_text(json::object{{"family", loaded.family.name}, {"remarks", remarks_json(remarks)}}) + "\n");
  } else {
    print_out(family_text(loaded.family));
    print_out(remarks.empty() ? "\nNothing about these machines is doubtful.\n"
                              : fmt::format("\nDoubtful:\n{}", remarks_text(remarks, loaded.file)));
  }
  return remarks.empty() ? exit_fine : exit_failed;
}

int compare(const Loaded& one, const Loaded& other, const CommandLine& line) {
  const auto parts = differences(one.family, other.family);
  if (line.json_wanted()) {
    print_out(json_text(json::object{{"one", one.family.name}, {"other", other.family.name}, {"differences", differences_json(parts)}}) + "\n");
  } else if (parts.empty()) {
    print_out(fmt::format("{} and {} do the same.\n", one.family.name, other.family.name));
  } else {
    std::string text = fmt::format("{} and {} part in {} points:\n", one.family.name, other.family.name, parts.size());
    for (const FamilyDifference& part : parts) {
      text += fmt::format("  {}\n", part.what);
      text += paragraph(part.one, 110, "    one:   ", "           ");
      text += paragraph(part.other, 110, "    other: ", "           ");
    }
    print_out(text);
  }
  return parts.empty() ? exit_fine : exit_failed;
}

}  // namespace

int family_command(Arguments arguments) {
  CommandLine line{"drybus family FILE|NAME [OTHER] [options]"};
  line.offer_output("output,o", "SVG: its machines as a picture");
  line.offer_json();
  line.take_words("FILE", 1, 2);
  if (!line.parse(arguments)) return exit_fine;
  const auto& words = line.words();
  const Loaded one = load(words[0]);
  if (words.size() == 1) return read_back(one, line);
  if (line.has("output")) throw Unusable{"-o draws one family; with two of them there is nothing to draw"};
  return compare(one, load(words[1]), line);
}

}  // namespace drybus::tools
