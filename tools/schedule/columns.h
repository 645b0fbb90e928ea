// Which column of a schedule holds what: guessed from headings and from what stands below them.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/enumeration.h"
#include "tools/schedule/table.h"

namespace drybus::tools {

/// What a column holds.
BOOST_DEFINE_FIXED_ENUM_CLASS(Meaning, std::uint8_t, room, floor, circuit, module, plate, load, dimming, site,
                              zone, channel, address, do_not_switch, nothing)

/// "do-not-switch", as --columns has it.
std::string_view to_string(Meaning meaning);

struct ColumnUse {
  Meaning meaning = Meaning::nothing;
  std::string heading;  ///< as it stands there; empty: none
  std::string why;      ///< "its heading", "what stands below it", "as told"
};

struct Layout {
  std::vector<ColumnUse> columns;
  std::size_t first_row = 0;  ///< of the entries; the rows before are headings
  bool has_heading = false;
  bool is_ours = false;  ///< headings as we write them, in the first row: nothing below is guessed

  [[nodiscard]] std::optional<std::size_t> column(Meaning meaning) const;
};

/// The headings of a sheet as we write it, and what stands below each.
struct WrittenColumn {
  std::string_view heading;
  Meaning meaning = Meaning::nothing;
};
std::span<const WrittenColumn> written_columns();

/// What somebody says: "room=A,circuit=C,load=none", or a heading in place of a letter. Throws Unusable for what is
/// no such list, names a column that is not there, or one column twice.
using ToldColumns = std::vector<std::pair<Meaning, std::string>>;
ToldColumns parse_told_columns(std::string_view text);

/// Headings are looked for in the first rows, also where they take two rows or merged cells; without any, columns go by
/// what is in them. Throws Unusable when what is told does not fit, or when no column can hold the circuits.
Layout guess_layout(const Table& table, const ToldColumns& told = {});

/// "  B  Circuit        circuit   its heading", a line for each column.
std::string layout_text(const Table& table, const Layout& layout);

}  // namespace drybus::tools
