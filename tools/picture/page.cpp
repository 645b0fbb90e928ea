#include "tools/picture/page.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/legend.h"
#include "tools/picture/row.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr double section_gap = 22;
constexpr double page_row_gap = 26;
constexpr std::size_t most_sentences = 24;
constexpr std::size_t most_notes = 52;      ///< as many as have a letter or two
constexpr std::size_t alike_sentences = 3;  ///< findings of one kind and time that are each told in full

/// Text that runs down a column.
class Column {
 public:
  Column(Canvas& canvas, double left, double width, double top, Shown shown)
      : canvas_(canvas), left_(left), width_(width), y_(top), shown_(shown) {}

  void write(std::string_view text, const TextStyle& style, Ink ink = Ink::ink, double indent = 0,
             std::size_t most = 1000) {
    for (const std::string& line : lines_within(text, width_ - indent, style, most)) {
      canvas_.write(
          {{left_ + indent, y_ + baseline(style)}, line, style, Anchor::start, ink, Ground::paper, shown_});
      y_ += line_height(style) + 2;
    }
  }
  void skip(double height) { y_ += height; }
  [[nodiscard]] double y() const { return y_; }
  [[nodiscard]] double left() const { return left_; }

 private:
  Canvas& canvas_;
  double left_;
  double width_;
  double y_;
  Shown shown_;
};

std::string span_text(const FindingSpan& finding) {
  if (finding.open) return "from " + clock_text(finding.from) + ", and still";
  if (finding.from == finding.to) return "at " + clock_text(finding.from);
  return clock_text(finding.from) + " to " + clock_text(finding.to);
}

class Page {
 public:
  Page(const Source& source, const RunResult& result, const PictureOptions& options)
      : source_(source), result_(result), options_(options), canvas_(options.width, page_margin / 2) {}

  Picture draw() {
    const Plan plan = plan_picture(source_.timeline, options_);
    double y = draw_head(page_margin);
    y = draw_rows(plan, y);
    if (!options_.hide_hidden) y = draw_sentences(plan, y);
    if (!plan.notes.empty()) y = draw_notes(plan, y);
    y = draw_legend(canvas_, page_margin, options_.width - 2 * page_margin, y, options_.hide_hidden);
    Picture& picture = canvas_.picture();
    picture.height = y + page_margin;
    picture.title = source_.timeline.title;
    picture.description =
        fmt::format("Timeline of a dry run: {} devices, {} to {}.", source_.timeline.devices.size(),
                    clock_text(plan.from), clock_text(plan.to));
    if (options_.hide_hidden) take_out_hidden(picture);
    // cppcheck-suppress returnStdMoveLocal // a reference to the canvas's
    return std::move(picture);
  }

 private:
  /// Causes go too: they tell of modes.
  static void take_out_hidden(Picture& picture) {
    std::erase_if(picture.marks, [](const Mark& mark) { return mark.shown == Shown::revealed; });
    std::erase_if(picture.labels, [](const Label& label) { return label.shown == Shown::revealed; });
    for (Mark& mark : picture.marks) mark.telling.because.clear();
  }

  double draw_head(double top) {
    const Timeline& timeline = source_.timeline;
    const double width = options_.width - 2 * page_margin;
    Column head{canvas_, page_margin, width, top, Shown::always};
    head.write(timeline.title.empty() ? "Dry run" : timeline.title, title_style, Ink::ink, 0, 2);
    if (!options_.hide_hidden && !timeline.about.empty()) {
      std::string about = timeline.about;
      std::replace(about.begin(), about.end(), '\n', ' ');
      Column column{canvas_, page_margin, width, head.y(), Shown::revealed};
      column.write(about, main_style, Ink::ink, 0, 4);
      head.skip(column.y() - head.y());
    }
    head.write(fmt::format("family {}, seed {}; times are minutes and seconds of the run's clock",
                           timeline.family, timeline.seed),
               caption_style, Ink::quiet, 0, 1);
    return head.y() + 6;
  }

  double draw_rows(const Plan& plan, double y) {
    const auto& rows = plan.axis.rows;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const Span span{rows[i].from(), rows[i].to(), i + 1 == rows.size()};
      y = RowDrawer{source_, plan, rows[i], span, options_, canvas_}.draw(y);
      y += i + 1 < rows.size() ? page_row_gap : section_gap;
    }
    if (plan.axis.whole) return y;
    const std::string end = clock_text(rows.back().to());
    Column column{canvas_, page_margin, options_.width - 2 * page_margin, y, Shown::always};
    column.write(
        fmt::format("The picture ends here, at {}; the run goes on to {}. Draw the rest with --from.", end,
                    clock_text(plan.to)),
        strong_style, Ink::alarm);
    return column.y() + section_gap;
  }

  /// What was out of step, and beside it what to do about it.
  double draw_sentences(const Plan& plan, double top) {
    double y = top;
    std::size_t told = 0;
    std::size_t untold = 0;
    const auto& findings = source_.timeline.findings;
    for (std::size_t i = 0; i < findings.size(); ++i) {
      if (findings[i].to < plan.from || findings[i].from > plan.to) continue;
      if (told == most_sentences) {
        ++untold;
        continue;
      }
      ++told;
      y = draw_sentence(i, findings[i], y);
    }
    Column column{canvas_, page_margin, options_.width - 2 * page_margin, y, Shown::revealed};
    if (told == 0) column.write("Nothing was out of step.", main_style);
    if (untold != 0) column.write(fmt::format("And {} more; drybus run tells them all.", untold), main_style);
    return column.y() + section_gap / 2;
  }

  double draw_sentence(std::size_t index, const FindingSpan& span, double top) {
    constexpr double indent = 2 * disc_radius + 10;
    constexpr double between = 36;
    const double width = options_.width - 2 * page_margin;
    const double text_part = width * 0.62;
    const Point disc{page_margin + disc_radius, top + 11};
    canvas_.draw(Layer::marks, Look::disc, circle_path(disc, disc_radius), Shown::revealed);
    canvas_.write({{disc.x, disc.y + 5.5},
                   fmt::format("{}", index + 1),
                   second_strong_style,
                   Anchor::middle,
                   Ink::paper,
                   Ground::alarm,
                   Shown::revealed});
    Column text{canvas_, page_margin + indent, text_part - indent, top, Shown::revealed};
    text.write(fmt::format("{}, {}", to_string(span.id), span_text(span)), strong_style, Ink::alarm);
    const std::size_t in_full = span.findings.size() <= alike_sentences ? span.findings.size() : 1;
    for (std::size_t i = 0; i < in_full; ++i) text.write(result_.findings[span.findings[i]].text, main_style);
    if (in_full < span.findings.size()) {
      const std::vector<DeviceId> others{span.about.begin() + (span.about.empty() ? 0 : 1), span.about.end()};
      text.write(fmt::format("The same for {}.", names_text(source_.timeline, others, 12)), main_style);
    }
    Column remedy{canvas_, page_margin + text_part + between, width - text_part - between, top,
                  Shown::revealed};
    remedy.write("what to do", strong_style);
    remedy.write(result_.findings[span.findings.front()].remedy, main_style);
    return std::max(text.y(), remedy.y()) + 12;
  }

  double draw_notes(const Plan& plan, double top) {
    constexpr double indent = 2 * disc_radius + 10;
    Column column{canvas_, page_margin + indent, options_.width - 2 * page_margin - indent, top,
                  Shown::always};
    for (std::size_t i = 0; i < plan.notes.size() && i < most_notes; ++i) {
      const std::string letter = note_letter(i);
      const double middle = page_margin + disc_radius;
      canvas_.draw(Layer::marks, Look::note, circle_path({middle, column.y() + 11}, disc_radius));
      canvas_.write({{middle, column.y() + 16}, letter, second_strong_style, Anchor::middle});
      column.write(fmt::format("{}: {}", clock_text(plan.notes[i]->at), plan.notes[i]->text), main_style,
                   Ink::ink, 0, 4);
      column.skip(4);
    }
    if (plan.notes.size() > most_notes) {
      column.write(fmt::format("And {} more; drybus run tells them all.", plan.notes.size() - most_notes),
                   main_style);
    }
    return column.y() + section_gap / 2;
  }

  const Source& source_;
  const RunResult& result_;
  const PictureOptions& options_;
  Canvas canvas_;
};

}  // namespace

Picture draw_picture(const Scenario& scenario, const RunResult& result, const Timeline& timeline,
                     const PictureOptions& options) {
  const Source source{scenario, result.record, timeline};
  return Page{source, result, options}.draw();
}

}  // namespace drybus::tools::picture
