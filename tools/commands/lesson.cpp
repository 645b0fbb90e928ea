// drybus lesson: a lesson as one page that is the bench.
#include <fmt/format.h>

#include "tools/base/output.h"
#include "tools/commands/lesson_commands.h"
#include "tools/lesson/bundle.h"
#include "tools/lesson/page.h"
#include "tools/load/load_lesson.h"
#include "tools/options/language.h"

namespace drybus::tools {

namespace {

using model::msg;
using model::tr;

/// English at the bottom, whoever asks: the page looks up its own words.
std::string page_of(const LoadedLesson& loaded, const std::string& language) {
  const BrowserBench bench = load_browser_bench();
  const model::Speaking english{nullptr};
  return lesson_page(loaded.lesson.title, lesson_bundle(loaded), bench, language);
}

std::string told_of(const std::string& path, std::size_t questions, std::size_t bytes) {
  const std::string size = model::with_decimal_mark(fmt::format("{:.2f}", static_cast<double>(bytes) / 1e6));
  return tr("{}: {} questions, {} MB; open it in a browser", path, questions, size);
}

}  // namespace

int lesson_command(Arguments arguments) {
  CommandLine line{"drybus lesson LESSON -o FILE.html"};
  line.offer_output("output,o",
                    msg("write the page there: one file, which opens without a server or a network").data());
  offer_language(line, tr("that the page speaks, and the command, too: {}", language_choice()));
  line.take_words("LESSON", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  if (!line.has("output")) throw Unusable{tr("where shall the page go? drybus lesson LESSON -o lesson.html")};
  const LoadedLesson loaded = load_lesson(line.words()[0]);
  const std::string html = page_of(loaded, read_language(line).value_or("en"));
  write_file(line.text("output"), html);
  if (line.text("output") != "-")
    print_out(told_of(line.text("output"), loaded.lesson.questions.size(), html.size()) + "\n");
  return exit_fine;
}

}  // namespace drybus::tools
