// The site of an IEC 62386 line, as a file tells it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/iec62386/script.h"
#include "tools/script/fields.h"

namespace drybus::tools {

/// Names of one kind, to find what a word means.
class LineNames {
 public:
  explicit LineNames(const iec62386::Site& site) : site_(site) {}
  std::optional<iec62386::Index> gear(Complaints& complaints, const Place& place,
                                      std::string_view word) const;
  std::optional<iec62386::Index> controller(Complaints& complaints, const Place& place,
                                            std::string_view word) const;
  std::optional<iec62386::Index> line(Complaints& complaints, const Place& place,
                                      std::string_view word) const;
  std::optional<iec62386::Index> place(Complaints& complaints, const Place& where,
                                       std::string_view word) const;

 private:
  const iec62386::Site& site_;
};

iec62386::Site read_line_site(const Node& node, Complaints& complaints);

/// What gear holds in its memory: that of new gear, with what is told.
iec62386::GearMemory read_holds(const Node& node, Complaints& complaints);

/// What a button or a step sends: `send` or `set`, with `to` and `once`.
std::vector<iec62386::Send> read_sends(const Node& map, Complaints& complaints);

/// A current, "250 mA".
void read_current(Complaints& complaints, const Node* node, std::uint32_t& microamperes);

}  // namespace drybus::tools
