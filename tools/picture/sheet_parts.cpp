// The parts of a sheet: its head, rows, sentences, remarks, legend.
#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/legend.h"
#include "tools/picture/sheet_drawer.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr std::size_t alike_sentences = 3;  ///< findings of one kind and time that are each told in full
constexpr double text_indent = 2 * disc_radius + 10;

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
  if (finding.open) return tr("from {}, and still", clock_text(finding.from));
  if (finding.from == finding.to) return tr("at {}", clock_text(finding.from));
  return tr("{} to {}", clock_text(finding.from), clock_text(finding.to));
}

}  // namespace

double SheetDrawer::draw(const Block& block, double top) {
  switch (block.kind) {
    case Block::Kind::row:
      return RowDrawer{source_,  plan_,  plan_.axis.rows[block.index], span_of(block.index), block.lanes,
                       options_, canvas_}
          .draw(top);
    case Block::Kind::cut_off:
      return draw_cut_off(top);
    case Block::Kind::sentence:
      return draw_sentence(block.index, top);
    case Block::Kind::more:
      return draw_more(block.index, top);
    case Block::Kind::note:
      return draw_notes(block.index, top);
    case Block::Kind::legend:
      return draw_legend(canvas_, looks_, page_margin, text_width_px(), top, source_.timeline.only_seen);
  }
  return top;
}

/// At the right edge, on a line that ends at `y`.
void SheetDrawer::write_chapter(double y, const std::string& chapter) {
  if (chapter.empty()) return;
  canvas_.write({{options_.width - page_margin, y},
                 fitted(chapter, text_width_px() / 2, strong_style),
                 strong_style,
                 Anchor::end});
}

double SheetDrawer::draw_head(double top, const std::string& chapter) {
  const Timeline& timeline = source_.timeline;
  write_chapter(top + baseline(title_style), chapter);
  Column head{canvas_, page_margin, text_width_px() * (chapter.empty() ? 1 : 0.5), top, Shown::always};
  head.write(timeline.title.empty() ? tr("Dry run") : timeline.title, title_style, Ink::ink, 0,
             options_.compact ? 1 : 2);
  if (!timeline.about.empty()) {
    std::string about = timeline.about;
    std::replace(about.begin(), about.end(), '\n', ' ');
    Column column{canvas_, page_margin, text_width_px(), head.y(), Shown::revealed};
    column.write(about, text_style(), Ink::ink, 0, options_.compact ? 3 : 4);
    head.skip(column.y() - head.y());
  }
  Column facts{canvas_, page_margin, text_width_px(), head.y(), Shown::always};
  facts.write(tr("family {}, seed {}; the clock tells minutes and seconds from the beginning; time is "
                 "not to scale",
                 timeline.family, timeline.seed),
              caption_style, Ink::quiet, 0, 1);
  return facts.y() + 4;
}

double SheetDrawer::draw_short_head(double top, const std::string& chapter) {
  write_chapter(top + baseline(name_style), chapter);
  Column head{canvas_, page_margin, text_width_px() / 2 - 20, top, Shown::always};
  head.write(source_.timeline.title.empty() ? tr("Dry run") : source_.timeline.title, name_style, Ink::ink, 0,
             1);
  return head.y() + 4;
}

double SheetDrawer::draw_cut_off(double top) {
  Column column{canvas_, page_margin, text_width_px(), top, Shown::always};
  column.write(tr("The picture ends here, at {}; the run goes on to {}. Draw the rest with --from.",
                  clock_text(plan_.axis.rows.back().to()), clock_text(plan_.to)),
               strong_style, Ink::alarm);
  return column.y();
}

/// What was out of step, and beside it what to do about it.
double SheetDrawer::draw_sentence(std::size_t index, double top) {
  const FindingSpan& span = source_.timeline.findings[index];
  constexpr double indent = text_indent;
  const double between = options_.compact ? 24 : 36;
  const double width = text_width_px();
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
  text.write(fmt::format("{}, {}", to_string(span.id), span_text(span)), heading_style(), Ink::alarm);
  const std::size_t in_full = span.findings.size() <= alike_sentences ? span.findings.size() : 1;
  for (std::size_t i = 0; i < in_full; ++i) text.write(result_.findings[span.findings[i]].text, text_style());
  if (in_full < span.findings.size()) {
    const std::vector<DeviceId> others{span.about.begin() + (span.about.empty() ? 0 : 1), span.about.end()};
    text.write(tr("The same for {}.", names_text(source_.timeline, others, 12)), text_style());
  }
  Column remedy{canvas_, page_margin + text_part + between, width - text_part - between, top,
                Shown::revealed};
  remedy.write(tr("what to do"), heading_style());
  remedy.write(result_.findings[span.findings.front()].remedy, text_style());
  return std::max(text.y(), remedy.y()) + 2;
}

double SheetDrawer::draw_more(std::size_t untold, double top) {
  Column column{canvas_, page_margin, text_width_px(), top,
                source_.timeline.only_seen ? Shown::always : Shown::revealed};
  column.write(
      untold == 0 ? tr("Nothing was out of step.") : tr("And {} more; drybus run tells them all.", untold),
      text_style());
  return column.y();
}

double SheetDrawer::draw_notes(std::size_t first, double top) {
  const std::size_t abreast = notes_abreast();
  constexpr double between = 24;
  const double width = (text_width_px() + between) / static_cast<double>(abreast) - between;
  double end = top;
  for (std::size_t i = 0; i < abreast && first + i < std::min(plan_.notes.size(), most_notes); ++i) {
    const double left = page_margin + static_cast<double>(i) * (width + between);
    end = std::max(end, draw_note(first + i, left, width, top));
  }
  return end;
}

double SheetDrawer::draw_note(std::size_t index, double left, double width, double top) {
  Column column{canvas_, left + text_indent, width - text_indent, top, Shown::always};
  const double middle = left + disc_radius;
  canvas_.draw(Layer::marks, Look::note, circle_path({middle, top + 11}, disc_radius));
  canvas_.write({{middle, top + 16}, note_letter(index), second_strong_style, Anchor::middle});
  column.write(fmt::format("{}: {}", clock_text(plan_.notes[index]->at), plan_.notes[index]->text),
               text_style(), Ink::ink, 0, 4);
  return std::max(column.y(), top + 2 * disc_radius + 2);
}

}  // namespace drybus::tools::picture
