#include "tools/commands/lesson_sheets.h"

#include <fmt/format.h>

#include <array>

#include "tools/base/output.h"
#include "tools/base/print_pdf.h"
#include "tools/picture/page.h"
#include "tools/picture/svg.h"
#include "tools/view/lesson_sheet.h"

namespace drybus::tools {

namespace {

/// The wider a picture's coordinates, the smaller its letters on paper.
struct Setting {
  double points = 9;
  double picture_width = 900;  ///< px
};

constexpr std::array settings = {Setting{9.5, 900}, Setting{9, 1000}, Setting{8.5, 1150}, Setting{8, 1300},
                                 Setting{7.5, 1450}, Setting{7, 1600}};
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

std::string set(const LoadedLesson& loaded, const model::RunResult& result, const SheetRequest& request,
                const Setting& setting) {
  const model::Scenario& scenario = loaded.lesson.scenario;
  picture::PictureOptions options;
  options.width = setting.picture_width;
  options.compact = true;
  options.bare = true;
  options.hide_hidden = !request.answers;
  options.stops = stops_of(loaded);
  // What comes after the last question would answer it.
  if (!request.answers && !options.stops.empty()) options.to = options.stops.back().at;
  const Timeline timeline = read_timeline(scenario, result, scenario.seed);
  LessonSheet sheet{request.answers, request.letter, setting.points, ""};
  sheet.picture =
      picture::svg_text(picture::draw_picture(scenario, result, timeline, options), {.inside_page = false, .plain = true});
  return lesson_sheet_html(loaded, result, sheet);
}

}  // namespace

std::string lesson_sheet(const LoadedLesson& loaded, const model::RunResult& result, const SheetRequest& request) {
  if (!names_pdf(request.path)) return set(loaded, result, request, settings[usual]);
  std::string pdf;
  for (const Setting& setting : settings) {
    pdf = pdf_of(set(loaded, result, request, setting));
    if (pages_of(pdf) <= 1) return pdf;
  }
  print_err(fmt::format("drybus: {}: this lesson takes {} pages even in small letters\n", request.path, pages_of(pdf)));
  return pdf;
}

}  // namespace drybus::tools
