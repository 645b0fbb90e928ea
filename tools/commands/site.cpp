// drybus site: from the spreadsheet of a building to a site that plan reads, and back; or asked for, room by room.
#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"
#include "tools/commands/site_commands.h"
#include "tools/commands/site_new.h"
#include "tools/commands/site_record.h"
#include "tools/load/load.h"
#include "tools/schedule/site_file.h"

namespace drybus::tools {

using model::msg;
using model::plural;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace fs = std::filesystem;
namespace json = boost::json;

constexpr const char* usual_family = "wired-keypad";

void add_site_options(CommandLine& line) {
  line.offer_output("output,o",
                    msg("write the site there (YAML), for drybus plan; '-' is standard output").data());
  line.offer_output("csv", msg("write the schedule as CSV, as this command reads it").data());
  line.add()("columns", po::value<std::string>(),
             msg("what the columns hold, where the guess is wrong: room=A,circuit=Name,load=none").data());
  line.add()("sheet", po::value<std::string>()->default_value(""),
             msg("which sheet of a spreadsheet with several").data());
  line.add()("family", po::value<std::string>()->default_value(usual_family),
             msg("the family of the devices").data());
  line.add()("number", po::value<std::string>(),
             msg("the site number, where the schedule says zones and channels only").data());
  line.add()("strict", msg("take every doubtful cell for wrong").data());
  line.offer_json();
}

/// A site in memory that stands for a file not written yet; everything else is on the disk.
class WithText final : public Files {
 public:
  WithText(fs::path path, std::string text) : path_(std::move(path)), text_(std::move(text)) {}
  [[nodiscard]] std::variant<std::string, Refusal> read(const fs::path& path) const override {
    if (path == path_) return text_;
    return disk_.read(path);
  }
  [[nodiscard]] bool exists(const fs::path& path) const override {
    return path == path_ || disk_.exists(path);
  }
  [[nodiscard]] std::vector<std::string> yaml_names(const fs::path& folder) const override {
    return disk_.yaml_names(folder);
  }

 private:
  DiskFiles disk_;
  fs::path path_;
  std::string text_;
};

/// What is written has to be read again: a site that is too large is told now, and not when it is planned.
void check_readable(const fs::path& path, const std::string& yaml) {
  const WithText files{path, yaml};
  ReadOptions options;
  options.files = &files;
  const auto read = read_site(path, options);
  if (!read) throw Unusable{tr("the site that comes of it cannot be used:\n{}", to_text(read.problems()))};
}

/// One of the families, or a file; nothing where none is found and none was asked for.
std::optional<LoadedFamily> family_for(const CommandLine& line) {
  const std::string name = line.text("family");
  if (name == usual_family && !find_family(name, fs::current_path())) return std::nullopt;
  return load_family(name);
}

std::string counts_text(const Schedule& schedule) {
  const std::size_t circuits = schedule.circuits.size(), rooms = schedule.rooms.size(),
                    plates = schedule.plates.size();
  return fmt::format("{}, {}, {}", plural("{} circuit", "{} circuits", circuits, circuits),
                     plural("{} room", "{} rooms", rooms, rooms),
                     plural("{} plate", "{} plates", plates, plates));
}

/// What a site file says of itself: in English, whatever is spoken. `by`: what made it.
std::string about_text(std::string_view by, const Schedule& schedule) {
  const model::Speaking english{nullptr};
  return fmt::format("Made by {}: {}.\n", by, counts_text(schedule));
}

struct ReadIn {
  Schedule schedule;
  std::string told;  ///< columns, doubts and notes
  json::object json;
};

json::array remarks_json(const Schedule& schedule) {
  json::array remarks;
  for (const Remark& remark : schedule.remarks) {
    remarks.push_back(json::object{
        {"cell", cell_name(remark.row, remark.column)}, {"wrong", remark.wrong}, {"text", remark.text}});
  }
  return remarks;
}

json::array columns_json(const Layout& layout) {
  json::array columns;
  for (std::size_t i = 0; i < layout.columns.size(); ++i) {
    const ColumnUse& use = layout.columns[i];
    columns.push_back(
        json::object{{"column", column_name(i)},
                     {"heading", use.heading},
                     {"holds", use.why.empty() ? json::value{} : json::value(to_string(use.meaning))}});
  }
  return columns;
}

/// Everything that is wrong, with its cells, ends the command before anything is written.
void refuse_wrong(const std::string& path, const Schedule& schedule, bool strict, const std::string& told) {
  const auto is_wrong = [strict](const Remark& remark) { return strict || remark.wrong; };
  if (std::none_of(schedule.remarks.begin(), schedule.remarks.end(), is_wrong)) return;
  throw Unusable{tr("{}: no site can be made of it\n{}{}{}", path, remarks_text(schedule.remarks, true),
                    strict ? remarks_text(schedule.remarks, false) : "", told)};
}

ReadIn read_sheet(const CommandLine& line, const std::string& path) {
  const Table table = read_table(path, line.text("sheet"));
  const Layout layout =
      guess_layout(table, line.has("columns") ? parse_told_columns(line.text("columns")) : ToldColumns{});
  const auto family = family_for(line);
  ScheduleOptions options;
  if (family) options.family = &family->family;
  if (line.has("number")) options.site_number = static_cast<std::uint8_t>(line.number("number", 0, 255));
  ReadIn in;
  in.schedule = read_schedule(table, layout, options);
  const std::string columns = tr("columns (--columns says otherwise):\n{}", layout_text(table, layout));
  refuse_wrong(path, in.schedule, line.has("strict"), columns);
  give_plates(in.schedule, options.family);
  in.told = fmt::format("{}: {}\n{}", path, table.format, columns);
  if (const std::string doubts = remarks_text(in.schedule.remarks, false); !doubts.empty())
    in.told += tr("doubtful:\n{}", doubts);
  for (const std::string& note : in.schedule.notes) in.told += paragraph(tr("note: ") + note, 110, "", "  ");
  in.json = {
      {"format", table.format}, {"columns", columns_json(layout)}, {"remarks", remarks_json(in.schedule)}};
  return in;
}

bool is_site_file(const std::string& path) {
  const std::string ending = boost::to_lower_copy(fs::path{path}.extension().string());
  return ending == ".yaml" || ending == ".yml";
}

int write_out(const CommandLine& line, ReadIn in, const std::string& source) {
  const std::string about = about_text(fmt::format("drybus site from {}", source), in.schedule);
  const std::string yaml = site_yaml(in.schedule, line.text("family"), about);
  const std::string csv = line.has("csv") ? schedule_csv(in.schedule) : "";
  const bool site_wanted = line.has("output") || !line.has("csv");
  const bool to_file = line.has("output") && line.text("output") != "-";
  if (site_wanted &&
      find_family(line.text("family"),
                  to_file ? fs::absolute(line.text("output")).parent_path() : fs::current_path()))
    check_readable(to_file ? fs::absolute(line.text("output")) : fs::current_path() / "site.yaml", yaml);
  std::vector<OutputFile> files;
  if (line.has("output")) files.push_back({line.text("output"), yaml});
  if (line.has("csv")) files.push_back({line.text("csv"), csv});
  write_files(files);
  if (line.json_wanted()) {
    in.json["circuits"] = in.schedule.circuits.size();
    in.json["rooms"] = in.schedule.rooms.size();
    in.json["plates"] = in.schedule.plates.size();
    print_out(json_text(in.json) + "\n");
    return exit_fine;
  }
  if (site_wanted && !to_file) {
    print_err(in.told);
    if (!line.has("output")) print_out(yaml);
    return exit_fine;
  }
  print_out(in.told);
  print_out(fmt::format("{}: {}\n", counts_text(in.schedule),
                        to_file ? tr("written to {0}; next: drybus plan {0}", line.text("output"))
                                : tr("written to {}", line.text("csv"))));
  return exit_fine;
}

int ask_for_site(Arguments arguments) {
  CommandLine line{"drybus site new [options]"};
  line.offer_output("output,o", msg("write the site there").data(), "site.yaml");
  line.add()("family", po::value<std::string>()->default_value(usual_family),
             msg("the family of the devices").data());
  if (!line.parse(arguments)) return exit_fine;
  const auto family = family_for(line);
  const model::Family* known = family ? &family->family : nullptr;
  Schedule schedule = asked_schedule(known);
  give_plates(schedule, known);
  const std::string yaml = site_yaml(schedule, line.text("family"), about_text("drybus site new", schedule));
  if (known != nullptr) check_readable(fs::absolute(line.text("output")), yaml);
  write_file(line.text("output"), yaml);
  print_out(tr("{0}: written to {1}; next: drybus plan {1}\n", counts_text(schedule), line.text("output")));
  return exit_fine;
}

int compare_sites(Arguments arguments) {
  CommandLine line{"drybus site compare OLD NEW"};
  line.take_words("OLD NEW", 2, 2);
  if (!line.parse(arguments)) return exit_fine;
  const std::string changes = site_changes(load_site(line.words()[0]), load_site(line.words()[1]));
  print_out(changes.empty() ? tr("nothing has changed\n") : changes);
  return changes.empty() ? exit_fine : exit_failed;
}

/// What a site says and a sheet has no column for.
std::string left_behind(const LoadedSite& loaded, const std::string& name) {
  const auto& modules = loaded.site.modules;
  const bool scenes = std::any_of(modules.begin(), modules.end(), [](const model::ModuleSpec& module) {
    return module.intended_scenes != model::no_scenes();
  });
  if (!scenes) return {};
  return paragraph(tr("note: a sheet has no column for scenes; those that are wanted stay in {}", name), 110,
                   "", "  ");
}

}  // namespace

int site_command(Arguments arguments) {
  if (!arguments.empty() && arguments.front() == "compare") return compare_sites(arguments.subspan(1));
  if (!arguments.empty() && arguments.front() == "new") return ask_for_site(arguments.subspan(1));
  CommandLine line{
      "drybus site SCHEDULE|SITE [options]\n       drybus site new [options]\n       drybus site compare OLD "
      "NEW"};
  add_site_options(line);
  line.take_words("SCHEDULE", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  const std::string path = line.words()[0];
  const std::string name = harmless(fs::path{path}.filename().string());
  if (!is_site_file(path)) return write_out(line, read_sheet(line, path), name);
  if (!line.has("csv"))
    throw Unusable{tr("{}: this is a site already; --csv FILE writes it as a sheet", path)};
  if (line.has("output")) throw Unusable{tr("{}: this is a site already; -o would write it anew", path)};
  const LoadedSite loaded = load_site(path);
  return write_out(line, {schedule_of(loaded), left_behind(loaded, name), {}}, name);
}

}  // namespace drybus::tools
