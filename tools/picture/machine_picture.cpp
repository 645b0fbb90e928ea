#include "tools/picture/machine_picture.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/devices/device.h"
#include "model/family/machine_words.h"
#include "model/words/words.h"
#include "tools/picture/canvas.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/style.h"

namespace drybus::tools::picture {

using model::tr;

namespace {

using model::Machine;
using model::MachineRow;
using model::StateIndex;

constexpr double page_width = 1280;
constexpr double gutter = 92;  ///< right of the boxes, for arrows
constexpr double machine_lane_gap = 11;
constexpr double box_gap = 12;
constexpr double padding = 8;
constexpr TextStyle row_style{14, false};
constexpr TextStyle row_name_style{14, true};

/// One machine, drawn downwards.
class MachineColumn {
 public:
  /// `visits` may be null.
  MachineColumn(Canvas& canvas, const Machine& machine, const model::MachineVisits* visits, double left,
                double width)
      : canvas_(canvas), machine_(machine), visits_(visits), left_(left), width_(width - gutter) {}

  /// Returns where the column ends.
  double draw(std::string_view title, double top) {
    canvas_.picture().labels.push_back({{left_, top + baseline(name_style)}, std::string{title}, name_style});
    y_ = top + line_height(name_style) + 4;
    write_order();
    for (std::size_t i = 0; i < machine_.states.size(); ++i) draw_state(static_cast<StateIndex>(i));
    draw_box(tr("in any state"), {}, Look::lane_ground, [&] { write_rows(model::any_state); });
    draw_arrows();
    return y_;
  }

 private:
  struct Arrow {
    double from = 0;  ///< height of the row
    StateIndex to = 0;
  };

  void write_order() {
    std::string order = tr("lamp, the first that applies:");
    for (const model::Pattern pattern : machine_.order) order += fmt::format(" {},", to_string(pattern));
    order.pop_back();
    write(order, left_, row_style, Ink::quiet);
    y_ += 6;
  }

  void draw_state(StateIndex index) {
    const model::MachineState& state = machine_.states[index];
    heads_.push_back(y_ + 14);
    const bool setup = state.mode == model::Mode::setup;
    const std::string about = tr("{} mode, lamp {}{}", to_string(state.mode), to_string(state.shows),
                                 visits_ == nullptr ? "" : ", " + times_text(visits_->states[index]));
    draw_box(state.name, about, setup ? Look::unseen_ground : Look::lane_ground, [&] {
      write_named(tr("on entry"), model::to_string(state.entry));
      write_rows(index);
      write_named(tr("on exit"), model::to_string(state.exit));
    });
  }

  template <class Content>
  void draw_box(std::string_view name, std::string_view about, Look look, Content content) {
    const double top = y_;
    y_ += padding;
    canvas_.picture().labels.push_back(
        {{left_ + padding, y_ + baseline(strong_style)}, std::string{name}, strong_style});
    if (!about.empty()) {
      canvas_.picture().labels.push_back({{left_ + width_ - padding, y_ + baseline(row_style)},
                                          std::string{about},
                                          row_style,
                                          Anchor::end,
                                          Ink::ink});
    }
    y_ += line_height(strong_style);
    content();
    y_ += padding - 2;
    canvas_.draw(Layer::ground, look, Box{left_, top, width_, y_ - top});
    canvas_.draw(Layer::rules, Look::setup_frame, Box{left_, top, width_, y_ - top});
    y_ += box_gap;
  }

  void write_rows(StateIndex in) {
    for (std::size_t i = 0; i < machine_.rows.size(); ++i) {
      const MachineRow& row = machine_.rows[i];
      if (row.in != in) continue;
      const double before = y_;
      const std::string times = visits_ == nullptr ? "" : fmt::format(" ({})", times_text(visits_->rows[i]));
      write_named(spoken(row.on) + times, spoken(machine_, row));
      if (row.to != model::same_state) arrows_.push_back({before + line_height(row_style) / 2, row.to});
    }
  }

  static std::string times_text(std::uint64_t times) {
    return times == 0 ? tr("NEVER") : fmt::format("{}x", times);
  }

  void write_named(std::string_view name, const std::string& text) {
    if (text.empty()) return;
    const double name_width = text_width(fmt::format("{}  ", name), row_name_style);
    canvas_.picture().labels.push_back(
        {{left_ + padding, y_ + baseline(row_name_style)}, std::string{name}, row_name_style});
    const double x = left_ + padding + name_width;
    for (const std::string& line : lines_within(text, left_ + width_ - padding - x, row_style)) {
      write(line, x, row_style, Ink::ink);
    }
  }

  void write(const std::string& text, double x, const TextStyle& style, Ink ink) {
    canvas_.picture().labels.push_back({{x, y_ + baseline(style)}, text, style, Anchor::start, ink});
    y_ += line_height(style);
  }

  /// From the row to the right, up or down in a lane of its own, and back to the head of the state.
  void draw_arrows() {
    std::stable_sort(arrows_.begin(), arrows_.end(), [&](const Arrow& a, const Arrow& b) {
      return std::abs(a.from - heads_[a.to]) < std::abs(b.from - heads_[b.to]);
    });
    const double right = left_ + width_;
    double lane = right + 16;
    const double gap = std::min(
        machine_lane_gap, (gutter - 24) / static_cast<double>(std::max<std::size_t>(arrows_.size(), 1)));
    std::vector<double> landed(machine_.states.size(), 0);
    for (const Arrow& arrow : arrows_) {
      const double to = heads_[arrow.to] + landed[arrow.to];
      landed[arrow.to] += 3;
      const std::array points = {Point{right, arrow.from}, Point{lane, arrow.from}, Point{lane, to},
                                 Point{right + 8, to}};
      canvas_.draw(Layer::leads, Look::lead, polyline_path(points));
      const std::array head = {Point{right + 1, to}, Point{right + 10, to - 4.5},
                               Point{right + 10, to + 4.5}};
      canvas_.draw(Layer::marks, Look::telegram, polygon_path(head));
      lane += gap;
    }
  }

  Canvas& canvas_;
  const Machine& machine_;
  const model::MachineVisits* visits_;
  double left_;
  double width_;
  double y_ = 0;
  std::vector<double> heads_;  ///< of each state, where arrows arrive
  std::vector<Arrow> arrows_;
};

}  // namespace

Picture machine_picture(const model::Family& family, const model::FamilyVisits* visits) {
  Canvas canvas{page_width, page_margin};
  const double top = page_margin + line_height(title_style) + 8;
  const double half = (page_width - 3 * page_margin) / 2;
  canvas.picture().labels.push_back(
      {{page_margin, page_margin + baseline(title_style)}, family.name, title_style});
  const double plate = MachineColumn{canvas, family.plate.machine,
                                     visits == nullptr ? nullptr : &visits->plate, page_margin, half}
                           .draw(tr("Plate"), top);
  const double module =
      MachineColumn{canvas, family.module.machine, visits == nullptr ? nullptr : &visits->module,
                    2 * page_margin + half, half}
          .draw(tr("Module"), top);
  Picture picture = std::move(canvas.picture());
  picture.width = page_width;
  picture.height = std::max(plate, module) + page_margin;
  picture.title = tr("The machines of {}", family.name);
  picture.description =
      tr("For each state what comes, what is done then, and where that leads; the first row that fits is "
         "taken.");
  return picture;
}

}  // namespace drybus::tools::picture
