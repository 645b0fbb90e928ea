#include "tools/picture/sheet_drawer.h"

#include <algorithm>
#include <limits>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/picture/legend.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr std::size_t most_sentences = 24;

/// Causes go too: they tell of modes.
void take_out_hidden(Picture& picture) {
  std::erase_if(picture.marks, [](const Mark& mark) { return mark.shown == Shown::revealed; });
  std::erase_if(picture.labels, [](const Label& label) { return label.shown == Shown::revealed; });
  for (Mark& mark : picture.marks) mark.telling.because.clear();
}

/// Above and below everything.
double margin_of(const PictureOptions& options) {
  return options.bare ? 4 : options.compact ? 12 : page_margin;
}

double gap_between(const Block& before, const Block& after, bool compact) {
  const bool rows = before.kind == Block::Kind::row && after.kind == Block::Kind::row;
  const bool same = before.kind == after.kind;
  if (compact) return rows ? 14 : same ? 4 : 8;
  return rows ? 26 : same ? 8 : 20;
}

double height_of(const std::vector<Block>& blocks, bool compact) {
  double height = 0;
  for (std::size_t i = 0; i < blocks.size(); ++i)
    height += blocks[i].height + (i == 0 ? 0 : gap_between(blocks[i - 1], blocks[i], compact));
  return height;
}

}  // namespace

SheetDrawer::SheetDrawer(const Source& source, const RunResult& result, const PictureOptions& options)
    : source_(source),
      result_(result),
      options_(options),
      plan_(plan_picture(source.timeline, options)),
      canvas_(options.width, page_margin / 2) {}

Picture SheetDrawer::whole() {
  Sheet all{blocks(std::numeric_limits<double>::infinity()), ""};
  return sheet(all, 1, 1);
}

std::vector<Picture> SheetDrawer::chapters(double height) {
  const double inside = height - 2 * margin_of(options_);
  const double first_head = measure([&](double top) { return draw_head(top, "1 of 1"); });
  const double later_head = measure([&](double top) { return draw_short_head(top, "1 of 1"); });
  std::vector<Sheet> sheets(1);
  for (Block& block : blocks(inside - later_head)) {
    std::vector<Block>& open = sheets.back().blocks;
    const double head = sheets.size() == 1 ? first_head : later_head;
    const double gap = open.empty() ? 0 : gap_between(open.back(), block, options_.compact);
    const bool fits = head + height_of(open, options_.compact) + gap + block.height <= inside;
    if (!fits && !open.empty()) sheets.emplace_back();
    sheets.back().blocks.push_back(std::move(block));
  }
  std::vector<Picture> pictures;
  for (Sheet& each : sheets) each.name = name_of(each.blocks);
  for (std::size_t i = 0; i < sheets.size(); ++i) pictures.push_back(sheet(sheets[i], i + 1, sheets.size()));
  return pictures;
}

// --- what there is ---

/// The room is for one block, px.
std::vector<Block> SheetDrawer::blocks(double room) {
  std::vector<Block> all;
  for (std::size_t row = 0; row < plan_.axis.rows.size(); ++row) add_row(all, row, room);
  if (!plan_.axis.whole) all.push_back({Block::Kind::cut_off});
  if (!options_.bare) add_text(all);
  for (Block& block : all) {
    if (block.height == 0) block.height = measure([&](double top) { return draw(block, top); });
  }
  Block legend{Block::Kind::legend};
  legend.height = measure([&](double top) { return draw(legend, top); });
  all.push_back(std::move(legend));
  return all;
}

void SheetDrawer::add_row(std::vector<Block>& blocks, std::size_t row, double room) {
  Block block{Block::Kind::row, row, choose_lanes(source_.timeline, plan_, span_of(row))};
  block.height = measure([&](double top) { return draw(block, top); });
  if (block.height <= room) {
    blocks.push_back(std::move(block));
    return;
  }
  const RowSizes sizes = row_sizes(options_.compact);
  const auto height_of_lane = [&](const DrawnLane& lane) {
    return picture::height_of(lane, source_.timeline, sizes);
  };
  double lanes = 0;
  for (const auto* side : {&block.lanes.above, &block.lanes.below}) {
    for (const DrawnLane& lane : *side) lanes += height_of_lane(lane);
  }
  const double for_lanes = room - std::min(block.height - lanes, room / 2);
  for (LaneChoice& part : by_rooms(source_.timeline, block.lanes, for_lanes, height_of_lane)) {
    Block piece{Block::Kind::row, row, std::move(part)};
    blocks.push_back(std::move(piece));
  }
}

void SheetDrawer::add_text(std::vector<Block>& blocks) {
  const auto& findings = source_.timeline.findings;
  std::size_t told = 0;
  std::size_t untold = 0;
  for (std::size_t i = 0; i < findings.size(); ++i) {
    if (findings[i].to < plan_.from || findings[i].from > plan_.to) continue;
    if (++told > most_sentences) {
      ++untold;
    } else {
      blocks.push_back({Block::Kind::sentence, i});
    }
  }
  if (untold != 0 || (told == 0 && !source_.timeline.only_seen))
    blocks.push_back({Block::Kind::more, untold});
  const std::size_t abreast = notes_abreast();
  for (std::size_t i = 0; i < plan_.notes.size() && i < most_notes; i += abreast)
    blocks.push_back({Block::Kind::note, i});
  if (plan_.notes.size() > most_notes) blocks.push_back({Block::Kind::more, plan_.notes.size() - most_notes});
}

/// How high it is, drawn where nobody sees it.
template <class Draw>
double SheetDrawer::measure(Draw draw) {
  constexpr double top = 100;
  Canvas scratch{options_.width, page_margin / 2};
  std::swap(canvas_, scratch);
  const double height = draw(top) - top;
  std::swap(canvas_, scratch);
  looks_.merge(looks_of(scratch.picture()));
  return height;
}

Span SheetDrawer::span_of(std::size_t row) const {
  const auto& rows = plan_.axis.rows;
  return {rows[row].from(), rows[row].to(), row + 1 == rows.size()};
}

std::string SheetDrawer::name_of(const std::vector<Block>& blocks) const {
  const Block* first = nullptr;
  const Block* last = nullptr;
  for (const Block& block : blocks) {
    if (block.kind != Block::Kind::row) continue;
    if (first == nullptr) first = &block;
    last = &block;
  }
  if (first != nullptr) {
    std::string name =
        tr("{} to {}", clock_text(span_of(first->index).from), clock_text(span_of(last->index).to));
    if (first == last && !first->lanes.rooms.empty()) name += ", " + first->lanes.rooms;
    return name;
  }
  switch (blocks.front().kind) {
    case Block::Kind::row:
    case Block::Kind::cut_off:
    case Block::Kind::sentence:
    case Block::Kind::more:
      return tr("what was out of step");
    case Block::Kind::note:
      return tr("remarks");
    case Block::Kind::legend:
      return tr("what the signs mean");
  }
  return "";
}

// --- sheets ---

Picture SheetDrawer::sheet(const Sheet& sheet, std::size_t number, std::size_t of) {
  canvas_ = Canvas{options_.width, page_margin / 2};
  const std::string chapter = of == 1 ? "" : tr("{} of {}: {}", number, of, sheet.name);
  double y = margin_of(options_);
  if (!options_.bare) y = number == 1 ? draw_head(y, chapter) : draw_short_head(y, chapter);
  for (std::size_t i = 0; i < sheet.blocks.size(); ++i) {
    if (i != 0) y += gap_between(sheet.blocks[i - 1], sheet.blocks[i], options_.compact);
    y = draw(sheet.blocks[i], y);
  }
  Picture picture = finished(y);
  picture.chapter = of == 1 ? "" : sheet.name;
  return picture;
}

Picture SheetDrawer::finished(double end) {
  Picture picture = std::move(canvas_.picture());
  picture.height = end + margin_of(options_);
  picture.title = source_.timeline.title;
  picture.description = tr("Timeline of a dry run: {} devices, {} to {}.", source_.timeline.devices.size(),
                           clock_text(plan_.from), clock_text(plan_.to));
  if (source_.timeline.only_seen) take_out_hidden(picture);
  return picture;
}

}  // namespace drybus::tools::picture
