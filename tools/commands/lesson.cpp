// drybus lesson: a lesson as one page that is the bench.
#include <fmt/format.h>

#include "tools/base/output.h"
#include "tools/commands/lesson_commands.h"
#include "tools/lesson/bundle.h"
#include "tools/lesson/page.h"
#include "tools/load/load_lesson.h"
#include "tools/options/language.h"

namespace drybus::tools {

int lesson_command(Arguments arguments) {
  CommandLine line{"drybus lesson LESSON -o FILE.html"};
  line.offer_output("output,o", "write the page there: one file, which opens without a server or a network");
  offer_language(line, "that the page speaks: {}");
  line.take_words("LESSON", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  if (!line.has("output")) throw Unusable{"where shall the page go? drybus lesson LESSON -o lesson.html"};
  const LoadedLesson loaded = load_lesson(line.words()[0]);
  const std::string html = lesson_page(loaded.lesson.title, lesson_bundle(loaded), load_browser_bench(),
                                       read_language(line).value_or("en"));
  write_file(line.text("output"), html);
  if (line.text("output") != "-")
    print_out(fmt::format("{}: {} questions, {:.2f} MB; open it in a browser\n", line.text("output"),
                          loaded.lesson.questions.size(), static_cast<double>(html.size()) / 1e6));
  return exit_fine;
}

}  // namespace drybus::tools
