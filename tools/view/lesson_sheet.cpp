#include "tools/view/lesson_sheet.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/xml.h"
#include "tools/view/handout.h"
#include "tools/view/sheet_style.h"

namespace drybus::tools {

using model::LessonQuestion;
using model::QuestionKind;
using model::tr;

namespace {

constexpr std::string_view rules = R"css(
h1 { display: inline-block; }
.who { float: right; margin-top: 1mm; }
.who span { display: inline-block; border-bottom: 0.8pt solid #000; width: 38mm; height: 4mm; margin: 0 2mm; }
.picture { display: block; width: 100%; height: auto; margin: 1mm 0 2mm; }
.caution { padding: 1mm 2mm; margin: 1mm 0; border-width: 1.2pt; }
.question { break-inside: avoid; margin: 0 0 2mm; padding-left: 7mm; text-indent: -7mm; }
.question > * { text-indent: 0; }
.question b.number { display: inline-block; width: 7mm; text-align: left; }
.option { display: inline-block; margin: 0.6mm 6mm 0.6mm 0; }
.line { display: inline-block; border-bottom: 0.6pt solid #000; height: 5mm; width: 60mm; }
.lines div { border-bottom: 0.6pt solid #000; height: 6mm; }
.right { font-weight: bold; }
.small { font-size: 0.9em; }
.mark-here { display: inline-block; width: 3.5mm; height: 3.5mm; border: 0.8pt solid #000; text-align: center;
  line-height: 3.2mm; font-size: 8pt; }
)css";

std::string unit_of(const model::Measure& measure) {
  switch (measure.kind) {
    case model::Measure::Kind::time_left:
      return tr("seconds");
    case model::Measure::Kind::count:
      return "";
    case model::Measure::Kind::fact:
      return measure.fact == model::Fact::load || measure.fact == model::Fact::level ? tr("percent") : "";
  }
  return "";
}

std::string options_html(const LoadedLesson& loaded, std::size_t index, bool answers) {
  const LessonQuestion& question = loaded.lesson.questions[index];
  std::string html;
  for (std::size_t i = 0; i < question.options.size(); ++i) {
    model::LessonAnswer answer;
    answer.option = i;
    const bool right = answers && is_right(loaded.lesson, question, loaded.standings[index], answer);
    html += fmt::format("<span class=\"option{}\"><span class=\"mark-here\">{}</span> {}</span> ",
                        right ? " right" : "", right ? "\u00d7" : "&nbsp;",
                        xml_escaped(question.options[i].says));
  }
  return html;
}

/// Where the pupil writes.
std::string blank_html(const LoadedLesson& loaded, std::size_t index) {
  const LessonQuestion& question = loaded.lesson.questions[index];
  switch (question.kind) {
    case QuestionKind::choice:
      return options_html(loaded, index, false);
    case QuestionKind::place:
      return tr("room:") + " <span class=\"line\"></span>";
    case QuestionKind::device:
      return tr("device:") + " <span class=\"line\"></span>";
    case QuestionKind::number:
      return fmt::format("<span class=\"line\"></span> {}", unit_of(question.measure));
    case QuestionKind::press:
      return fmt::format(
          "{}<div class=\"lines\"><div></div><div></div><div></div></div>",
          tr("So that in the end: {} (within {}). Step by step:",
             xml_escaped(goal_text(loaded.lesson, question)), model::duration_text(question.within)));
  }
  return "";
}

std::string right_answer(const LoadedLesson& loaded, std::size_t index) {
  const std::string right = xml_escaped(right_text(loaded, index));
  return loaded.lesson.questions[index].kind == QuestionKind::press ? tr("One way: {}", right) : right;
}

std::string answer_html(const LoadedLesson& loaded, std::size_t index) {
  const LessonQuestion& question = loaded.lesson.questions[index];
  std::string html = question.kind == QuestionKind::choice
                         ? options_html(loaded, index, true)
                         : fmt::format("<span class=\"right\">{}</span>", right_answer(loaded, index));
  if (!question.because.empty()) html += "<br>" + xml_escaped(question.because);
  for (const std::string& hint : question.hints)
    html += fmt::format("<br><span class=\"small\">{}</span>", tr("Hint: {}", xml_escaped(hint)));
  return html;
}

std::string questions_html(const LoadedLesson& loaded, bool answers) {
  const model::Lesson& lesson = loaded.lesson;
  std::string html;
  for (const SheetStop& stop : sheet_stops(lesson)) {
    html += fmt::format("<h2>{}</h2>\n", tr("{}, at {}", stop.name(),
                                            model::clock_text(loaded.standings[stop.first].world.now)));
    for (std::size_t i = stop.first; i <= stop.last; ++i) {
      html += fmt::format("<div class=\"question\"><b class=\"number\">{}.</b>{}<br>{}</div>\n", i + 1,
                          xml_escaped(lesson.questions[i].ask),
                          answers ? answer_html(loaded, i) : blank_html(loaded, i));
    }
  }
  return html;
}

std::string findings_html(const model::RunResult& result) {
  if (result.findings.empty()) return "";
  std::string html = fmt::format("<h2>{}</h2>\n", tr("What was out of step"));
  std::string_view before;
  for (const model::Finding& finding : result.findings) {
    const std::string remedy = finding.remedy == before ? "" : " <b>" + xml_escaped(finding.remedy) + "</b>";
    html += fmt::format("<p>{}{}</p>\n", xml_escaped(finding.text), remedy);
    before = finding.remedy;
  }
  return html;
}

std::string head_html(const LoadedLesson& loaded, bool answers) {
  if (!answers) {
    return fmt::format(
        "<div class=\"who\">{}<span></span>{}<span></span></div><h1>{}</h1>\n<p>{}</p>\n", tr("Name"),
        tr("Date"), tr("What happened here?"),
        tr("The picture shows, from left to right, what was done on site and what could be seen there. The "
           "numbers in circles are those of the questions. Where it is grey nobody stood who could have "
           "looked."));
  }
  return fmt::format("<h1>{}</h1>\n<p>{}</p>\n", tr("Answers: {}", xml_escaped(loaded.lesson.title)),
                     xml_escaped(loaded.lesson.about));
}

}  // namespace

std::string SheetStop::name() const {
  return first == last ? tr("Question {}", first + 1)
                       : tr("Questions {}", fmt::format("{}\u2013{}", first + 1, last + 1));
}

std::vector<SheetStop> sheet_stops(const model::Lesson& lesson) {
  std::vector<SheetStop> stops;
  for (std::size_t i = 0; i < lesson.questions.size(); ++i) {
    const bool same = i != 0 && lesson.questions[i - 1].stop == lesson.questions[i].stop;
    if (!same) stops.push_back({i, i});
    stops.back().last = i;
  }
  return stops;
}

std::string lesson_sheet_html(const LoadedLesson& loaded, const model::RunResult& result,
                              const LessonSheet& sheet) {
  // The same on both, so that answers are found for a sheet whose title does not tell.
  const std::string key = result.digest.hex().substr(0, 6);
  const std::string title =
      sheet.answers ? tr("Answers: {}", xml_escaped(loaded.lesson.title)) : tr("Lesson sheet");
  std::string html = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"{}\"><head><meta charset=\"utf-8\"><title>{}</title>\n<style>{}{}"
      "body {{ font-size: {:.2f}pt; }}\n@page {{ @bottom-left {{ font: 8.5pt sans-serif; content: "
      "\"{}\"; }} }}\n"
      "</style></head>\n<body>\n{}",
      page_language(), title, sheet_style(sheet.letter), rules, sheet.points, tr("sheet {}", key),
      head_html(loaded, sheet.answers));
  if (touches_wiring(loaded.lesson.scenario, result))
    html += fmt::format("<p class=\"caution\">{}</p>\n",
                        xml_escaped(model::in_words_spoken(model::safety_caution)));
  html += sheet.picture + questions_html(loaded, sheet.answers);
  if (sheet.answers) html += findings_html(result);
  return html + "</body></html>\n";
}

}  // namespace drybus::tools
