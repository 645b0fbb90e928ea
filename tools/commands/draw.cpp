// drybus draw: a run as a picture.
#include <fmt/format.h>

#include <filesystem>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/picture/html.h"
#include "tools/picture/page.h"
#include "tools/picture/svg.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;
using model::msg;
using model::tr;

enum class PictureFormat { svg, html };

void add_draw_options(CommandLine& line) {
  line.offer_output("output,o", msg("FILE.svg or FILE.html; - for standard output, with --format").data());
  line.add()("format", po::value<std::string>(),
             msg("svg or html, where the file's name does not tell").data());
  line.offer_span(msg("draw from this time on, e.g. 3min"), msg("draw up to this time"));
  line.add()("hide-hidden",
             msg("only what a person on site could have seen; the rest is not in the file").data());
  line.add()("width", po::value<std::string>()->default_value("1280"), msg("of the page, in pixels").data());
  line.add()(
      "page", po::value<std::string>(),
      msg("what a chapter fits: screen, a4 or letter (landscape); without it a screen, or A4 where that "
          "holds all")
          .data());
  line.add()("chapter", po::value<std::string>(),
             msg("of several, the one that an .svg shows; 1 unless said").data());
  offer_budget(line);
  offer_firmware(line);
  line.add()("seed", po::value<std::string>(), msg("instead of the scenario's own").data());
  line.add()("until", po::value<std::string>(),
             msg("give up after this time on the run's clock (31 days unless said)").data());
}

PictureFormat format_named(const std::string& word, const std::string& what) {
  if (word == "svg") return PictureFormat::svg;
  if (word == "html") return PictureFormat::html;
  const std::vector<std::string> known{"svg", "html"};
  throw Unusable{tr("{}: expected svg or html.{}", what, did_you_mean(word, known))};
}

PictureFormat format_of(const CommandLine& line, const std::string& output) {
  if (const auto format = line.optional_text("format")) return format_named(*format, "--format " + *format);
  if (output == "-") throw Unusable{tr("-o - needs --format svg or --format html")};
  std::string extension = std::filesystem::path{output}.extension().string();
  if (extension.empty()) throw Unusable{tr("-o {}: its name should end in .svg or .html", output)};
  for (char& c : extension) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  if (extension == ".svg") return PictureFormat::svg;
  if (extension == ".html" || extension == ".htm") return PictureFormat::html;
  throw Unusable{tr("-o {}: a picture is .svg or .html, not {}", output, extension)};
}

std::optional<picture::PageShape> page_of(const CommandLine& line) {
  const auto word = line.optional_text("page");
  if (!word) return std::nullopt;
  if (*word == "screen") return picture::PageShape::screen;
  if (*word == "a4" || *word == "A4") return picture::PageShape::a4;
  if (*word == "letter") return picture::PageShape::letter;
  const std::vector<std::string> known{"screen", "a4", "letter"};
  throw Unusable{tr("--page {}: expected screen, a4 or letter.{}", *word, did_you_mean(*word, known))};
}

double width_of(const CommandLine& line) {
  return static_cast<double>(line.number("width", static_cast<std::uint64_t>(picture::least_width),
                                         static_cast<std::uint64_t>(picture::greatest_width), msg("pixels")));
}

picture::PictureOptions picture_options(const CommandLine& line, sim::Instant end) {
  picture::PictureOptions options;
  options.width = width_of(line);
  options.page = page_of(line);
  options.hide_hidden = line.has("hide-hidden");
  line.read_span(options.from, options.to);
  if (options.from > end)
    throw Unusable{tr("--from is later than the end of the run, {}", model::clock_text(end))};
  return options;
}

/// The chapter that an SVG shows, and a word on the others.
std::string one_chapter(const CommandLine& line, const std::vector<picture::Picture>& chapters) {
  const std::uint64_t chosen = line.has("chapter") ? line.number("chapter", 1, chapters.size(), "") : 1;
  if (chapters.size() > 1 && !line.has("chapter")) {
    print_err("drybus: " +
              tr("this is chapter 1 of {}, {}; --chapter N draws another, an .html has them all",
                 chapters.size(), chapters.front().chapter) +
              "\n");
  }
  return svg_text(chapters[chosen - 1]);
}

}  // namespace

int draw_command(Arguments arguments) {
  CommandLine line{"drybus draw SCENARIO -o FILE.svg|.html [options]"};
  add_draw_options(line);
  line.take_words("SCENARIO", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  const auto output = line.optional_text("output");
  if (!output)
    throw Unusable{tr("-o is missing: where to write the picture, such as -o run.svg or -o run.html")};
  const PictureFormat format = format_of(line, *output);
  width_of(line);  // told before anything is run
  const bool letter = page_of(line) == picture::PageShape::letter;
  if (line.has("chapter") && format == PictureFormat::html)
    throw Unusable{tr("--chapter is for an .svg; an .html has all chapters")};

  const std::string& name = line.words()[0];
  const FirmwareChoice firmware = read_firmware(line);
  LoadedScenario loaded = load_scenario(name);
  firmware.put_in(loaded.scenario);
  model::RunOptions run_options;
  if (line.has("seed")) run_options.seed = line.number("seed");
  if (line.has("until")) run_options.until = line.duration("until");
  run_options.budget = read_budget(line);
  const model::RunResult result = model::run(loaded.scenario, run_options);
  refuse_used_up(name, loaded.scenario, result);
  if (result.unfinished) {
    throw Unusable{tr("{}: the script is not over after {}; a longer run needs --until", name,
                      model::duration_text(run_options.until))};
  }
  if (result.broken_off)
    print_err(fmt::format("drybus: {}\n", describe(loaded.scenario, *result.broken_off)));
  const Timeline timeline =
      read_timeline(loaded.scenario, result, run_options.seed.value_or(loaded.scenario.seed));
  const picture::PictureOptions options = picture_options(line, timeline.end);
  const std::vector<picture::Picture> chapters =
      picture::draw_chapters(loaded.scenario, result, timeline, options);
  write_file(*output, format == PictureFormat::svg ? one_chapter(line, chapters)
                                                   : picture::html_text(chapters, letter));
  return result.broken_off ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
