// One layout of a picture: what goes onto its sheets, block by block, and how a sheet is drawn.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "tools/picture/canvas.h"
#include "tools/picture/lanes.h"
#include "tools/picture/page.h"
#include "tools/picture/row.h"

namespace drybus::tools::picture {

inline constexpr std::size_t most_notes = 52;  ///< as many as have a letter or two

/// What stays together on a sheet.
struct Block {
  enum class Kind : std::uint8_t {
    row,       ///< index: of the axis
    cut_off,   ///< that the picture ends before the run
    sentence,  ///< index: of the timeline's findings
    more,      ///< index: how many are not told
    note,      ///< index: by letter, of the first of those abreast
    legend
  };
  Kind kind = Kind::row;
  std::size_t index = 0;
  LaneChoice lanes = {};  ///< of a row
  double height = 0;      ///< px
};

struct Sheet {
  std::vector<Block> blocks;
  std::string name;  ///< "0:00.0 to 3:50.1, kitchen"
};

class SheetDrawer {
 public:
  SheetDrawer(const Source& source, const model::RunResult& result, const PictureOptions& options);

  /// How many rows its axis takes.
  [[nodiscard]] std::size_t rows() const { return plan_.axis.rows.size(); }
  /// Everything, on a sheet of no particular height.
  Picture whole();
  /// Sheets of at most this height, px; higher only where one block is.
  std::vector<Picture> chapters(double height);

 private:
  // sheet_drawer.cpp
  std::vector<Block> blocks(double room);
  void add_row(std::vector<Block>& blocks, std::size_t row, double room);
  void add_text(std::vector<Block>& blocks);
  template <class Draw>
  double measure(Draw draw);
  [[nodiscard]] Span span_of(std::size_t row) const;
  [[nodiscard]] std::string name_of(const std::vector<Block>& blocks) const;
  Picture sheet(const Sheet& sheet, std::size_t number, std::size_t of);
  Picture finished(double end);

  // sheet_parts.cpp
  double draw(const Block& block, double top);
  double draw_head(double top, const std::string& chapter);
  double draw_short_head(double top, const std::string& chapter);
  double draw_cut_off(double top);
  double draw_sentence(std::size_t index, double top);
  double draw_more(std::size_t untold, double top);
  double draw_notes(std::size_t first, double top);
  double draw_note(std::size_t index, double left, double width, double top);
  void write_chapter(double y, const std::string& chapter);

  [[nodiscard]] std::size_t notes_abreast() const { return options_.compact ? 2 : 1; }
  [[nodiscard]] double text_width_px() const { return options_.width - 2 * page_margin; }
  [[nodiscard]] const TextStyle& text_style() const { return options_.compact ? second_style : main_style; }
  [[nodiscard]] const TextStyle& heading_style() const {
    return options_.compact ? second_strong_style : strong_style;
  }

  const Source& source_;
  const model::RunResult& result_;
  const PictureOptions& options_;
  Plan plan_;
  Canvas canvas_;
  std::set<Look> looks_;  ///< of all that was measured
};

}  // namespace drybus::tools::picture
