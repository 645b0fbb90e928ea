// drybus run: one scenario at once, told as a story, a hand-out or data, and written in the formats of other
// tools.
#include "model/run/run.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/command.h"
#include "tools/commands/protocol_runs.h"
#include "tools/export/pcapng.h"
#include "tools/export/record_lines.h"
#include "tools/export/run_json.h"
#include "tools/export/vcd.h"
#include "tools/load/load.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/picture/page.h"
#include "tools/picture/svg.h"
#include "tools/view/handout.h"
#include "tools/view/story.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;
using model::msg;
using model::tr;
namespace fs = std::filesystem;

constexpr std::array<std::string_view, 3> formats = {"text", "json", "markdown"};
/// The options that name a file to be written; what would be printed, --output, comes last.
constexpr std::array<std::string_view, 5> file_options = {"vcd", "pcapng", "record", "capsule", "output"};

void add_run_options(CommandLine& line) {
  line.add()("format", po::value<std::string>()->default_value("text"),
             msg("text, json or markdown (a hand-out)").data());
  line.offer_output("output,o",
                    msg("write there what would be printed; a hand-out's picture beside it").data());
  line.add()("quiet,q", msg("only what failed, the findings and the verdict").data());
  line.offer_span(msg("tell the story from this time on, e.g. 3min"), msg("tell the story up to this time"));
  line.add()("seed", po::value<std::string>(), msg("instead of the scenario's own").data());
  line.add()("until", po::value<std::string>(),
             msg("give up after this time on the run's clock (31 days unless said)").data());
  line.offer_output("record", msg("write the record there, as JSON Lines").data());
  line.offer_output("vcd", msg("write a value-change dump there, for waveform viewers").data());
  line.offer_output("pcapng", msg("write the telegrams there, as a capture for network analysers").data());
  line.offer_output("capsule", msg("pack the run there, in one file that replays anywhere").data());
  offer_budget(line);
  offer_firmware(line);
}

/// A run with all that came of it.
struct Made {
  std::string name;  ///< of the scenario, as it was given
  FirmwareChoice firmware;
  LoadedRun loaded;
  model::RunOptions options;
  std::uint64_t seed = 0;
  model::RunResult result;
  std::string vcd;  ///< empty unless asked for

  [[nodiscard]] const model::Scenario& scenario() const { return loaded.loaded.scenario; }
};

/// A file to be written, and the option that asked for it.
struct Planned {
  std::string option;
  std::string path;
  bool picture = false;  ///< not the option's own file, but the picture beside it
};

StorySpan span_of(const CommandLine& line) {
  StorySpan span;
  line.read_span(span.from, span.to);
  return span;
}

void check_format(const std::string& format) {
  if (std::find(formats.begin(), formats.end(), format) != formats.end()) return;
  const std::vector<std::string> known{formats.begin(), formats.end()};
  throw Unusable{tr("--format {}: expected text, json or markdown.{}", format, did_you_mean(format, known))};
}

/// The picture of a hand-out lies beside it, under the same name.
std::string picture_path(const std::string& handout_path) {
  const fs::path path = fs::path{handout_path}.replace_extension(".svg");
  if (path == fs::path{handout_path}) {
    throw Unusable{tr("--output {}: a hand-out is Markdown; name it .md", handout_path)};
  }
  return path.string();
}

std::vector<Planned> planned_files(const CommandLine& line) {
  std::vector<Planned> all;
  for (const std::string_view option : file_options) {
    if (const auto path = line.optional_text(std::string{option}))
      all.push_back({std::string{option}, *path});
  }
  const bool handed_out =
      line.has("output") && line.text("format") == "markdown" && line.text("output") != "-";
  if (handed_out) all.push_back({"output", picture_path(line.text("output")), true});
  return all;
}

Made make(const CommandLine& line) {
  for (const Planned& file : planned_files(line)) {
    if (file.picture) claim_output("--" + file.option, file.path);
  }
  const FirmwareChoice firmware = read_firmware(line);
  Made made{line.words()[0], firmware, load_run(line.words()[0], firmware.text()), {}, 0, {}, {}};
  made.firmware.put_in(made.loaded.loaded.scenario);
  if (!firmware.built_in()) made.options.until = longest_firmware_run;
  if (made.loaded.packed) made.options.until = made.loaded.packed->until;
  if (line.has("seed")) made.options.seed = line.number("seed");
  if (line.has("until")) made.options.until = line.duration("until");
  made.options.budget = read_budget(line);
  made.seed = made.options.seed.value_or(made.scenario().seed);
  if (!line.has("vcd")) {
    made.result = model::run(made.scenario(), made.options);
  } else {
    VcdRecorder recorder{made.scenario()};
    model::RunOptions watched = made.options;
    watched.after_event = [&](const model::World& world, const sim::Record& record) {
      recorder.observe(world, record);
    };
    made.result = model::run(made.scenario(), watched);
    made.vcd = recorder.finish(made.result.world);
  }
  refuse_used_up(made.name, made.scenario(), made.result);
  if (made.result.unfinished) {
    throw Unusable{tr("{}: the script is not over after {}; a longer run needs --until", made.name,
                      model::duration_text(made.options.until))};
  }
  return made;
}

std::string replay_command(const Made& made) {
  const bool own_seed = made.seed == made.scenario().seed;
  return fmt::format("drybus run {}{}{}", made.name, own_seed ? "" : fmt::format(" --seed {}", made.seed),
                     made.firmware.options());
}

std::vector<picture::Picture> chapters_of(const Made& made) {
  const Timeline timeline = read_timeline(made.scenario(), made.result, made.seed);
  return picture::draw_chapters(made.scenario(), made.result, timeline, {});
}

std::string handout_text(const CommandLine& line, const Made& made) {
  HandoutOptions options{"", made.name, replay_command(made)};
  const std::string output = line.has("output") ? line.text("output") : "-";
  if (output != "-") {
    options.picture = fs::path{picture_path(output)}.filename().string();
    options.picture_is_part = chapters_of(made).size() > 1;
  }
  return handout(made.scenario(), made.result, made.seed, options);
}

std::string told(const CommandLine& line, const Made& made) {
  const std::string format = line.text("format");
  if (format == "json") return run_json(made.name, made.scenario(), made.seed, made.result);
  if (format == "markdown") return handout_text(line, made);
  // What never rests makes a story that nobody reads to its end.
  const bool endless = made.result.broken_off && made.result.broken_off->used_up;
  return line.has("quiet") || endless ? verdict_text(made.scenario(), made.result)
                                      : story_text(made.scenario(), made.result, made.seed, span_of(line));
}

std::string capsule_text(const Made& made) {
  return to_text(pack(made.loaded.loaded, {DRYBUS_VERSION, made.firmware.text(), made.seed,
                                           made.options.until, made.result.digest.hex()}));
}

std::string content_of(const Planned& file, const Made& made, const std::string& text) {
  if (file.option == "output" && !file.picture) return as_printed(text);
  if (file.picture) return picture::svg_text(chapters_of(made).front());
  const model::Speaking english{nullptr};  // the rest is for programs
  if (file.option == "vcd") return made.vcd;
  if (file.option == "pcapng") return pcapng(made.scenario(), made.result.record);
  if (file.option == "record") return record_lines(made.scenario(), made.result.record);
  return capsule_text(made);
}

/// Makes everything that was asked for before any of it is written.
void write(const CommandLine& line, const Made& made) {
  const std::string text = told(line, made);
  const std::vector<Planned> planned = planned_files(line);
  std::vector<std::string> contents;
  contents.reserve(planned.size());
  std::vector<OutputFile> files;
  for (const Planned& file : planned) contents.push_back(content_of(file, made, text));
  for (std::size_t i = 0; i < planned.size(); ++i) files.push_back({planned[i].path, contents[i]});
  write_files(files);
  const bool taken = std::any_of(planned.begin(), planned.end(), [](const Planned& file) {
    return file.path == "-" || file.option == "output";
  });
  if (!taken) print_out(text);
}

/// A capsule says what its run came to.
bool came_out_as_packed(const Made& made) {
  const auto& packed = made.loaded.packed;
  if (!packed || packed->seed != made.seed || packed->digest == made.result.digest.hex()) return true;
  print_err(tr("{}: the run came out differently: digest {}; it was packed with {}", made.name,
               made.result.digest.hex(), packed->digest) +
            "\n");
  return false;
}

}  // namespace

int run_command(Arguments arguments) {
  CommandLine line{"drybus run SCENARIO [options]"};
  add_run_options(line);
  line.take_words("SCENARIO", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  check_format(line.text("format"));
  if (names_protocol(line.words()[0])) return run_of_protocol(line);

  const Made made = make(line);
  write(line, made);
  return came_out_as_packed(made) && made.result.passed() ? exit_fine : exit_failed;
}

}  // namespace drybus::tools
