#include "tools/commands/lesson_sheets.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/print_pdf.h"
#include "tools/picture/page.h"
#include "tools/picture/svg.h"
#include "tools/view/lesson_sheet.h"

namespace drybus::tools {

using model::tr;

namespace {

/// The wider a picture's coordinates, the smaller its letters on paper.
struct Setting {
  double points = 9;
  double picture_width = 900;  ///< px
};

constexpr std::array settings = {Setting{9.5, 900}, Setting{9, 1000},   Setting{8.5, 1150},
                                 Setting{8, 1300},  Setting{7.5, 1450}, Setting{7, 1600}};
constexpr std::size_t usual = 1;  ///< of a page of HTML, which nobody has measured

std::vector<picture::Stop> stops_of(const LoadedLesson& loaded) {
  std::vector<picture::Stop> stops;
  for (const SheetStop& stop : sheet_stops(loaded.lesson)) {
    stops.push_back({loaded.standings[stop.first].world.now,
                     stop.first == stop.last ? fmt::format("{}", stop.first + 1)
                                             : fmt::format("{}-{}", stop.first + 1, stop.last + 1)});
  }
  return stops;
}

/// The last that has happened where the story stops there.
sim::EntryId last_before(const LoadedLesson& loaded, const sim::Record& record, std::size_t question) {
  using Kind = model::LessonStop::Kind;
  const model::LessonStop& stop = loaded.lesson.questions[question].stop;
  const auto is_step = [](const sim::Entry& entry) {
    return model::what(entry) == model::What::step && entry.who == 0;
  };
  sim::EntryId last = 0;
  for (const sim::Entry& entry : record.entries()) {
    if (stop.kind == Kind::start && is_step(entry)) break;
    if (stop.kind == Kind::time && entry.at > stop.at) break;
    ++last;
    if (stop.kind == Kind::note && is_step(entry) && entry.a == stop.step) break;
  }
  return std::max<sim::EntryId>(last, 1);
}

std::string set(const LoadedLesson& loaded, const model::RunResult& result, const SheetRequest& request,
                const Setting& setting) {
  const model::Scenario& scenario = loaded.lesson.scenario;
  picture::PictureOptions options;
  options.width = setting.picture_width;
  options.compact = true;
  options.bare = true;
  options.hide_hidden = !request.answers;
  options.stops = stops_of(loaded);
  Timeline timeline = read_timeline(scenario, result, scenario.seed);
  if (!request.answers && !loaded.lesson.questions.empty()) {
    // What comes after the last question would answer it.
    const sim::EntryId last = last_before(loaded, result.record, loaded.lesson.questions.size() - 1);
    timeline = up_to(std::move(timeline), result.record, last);
  }
  LessonSheet sheet{request.answers, request.letter, setting.points, ""};
  sheet.picture = picture::svg_text(picture::draw_picture(scenario, result, timeline, options),
                                    {.inside_page = false, .plain = true});
  return lesson_sheet_html(loaded, result, sheet);
}

}  // namespace

std::string lesson_sheet(const LoadedLesson& loaded, const model::RunResult& result,
                         const SheetRequest& request) {
  if (!names_pdf(request.path)) return set(loaded, result, request, settings[usual]);
  std::string pdf;
  for (const Setting& setting : settings) {
    pdf = pdf_of(set(loaded, result, request, setting));
    if (pages_of(pdf) <= 1) return pdf;
  }
  print_err("drybus: " +
            tr("{}: this lesson takes {} pages even in small letters", request.path, pages_of(pdf)) + "\n");
  return pdf;
}

}  // namespace drybus::tools
