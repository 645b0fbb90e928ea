// The steps of people on an IEC 62386 line, as a file tells them.
#pragma once

#include "model/iec62386/script.h"
#include "tools/script/line_site.h"

namespace drybus::tools {

class LineStepReader {
 public:
  /// Both must outlive it. REQUIRES: the scenario's site is whole.
  LineStepReader(Complaints& complaints, iec62386::Scenario& scenario)
      : complaints_(complaints), scenario_(scenario), names_(scenario.site) {}

  /// The script of one person.
  void read(const Node& list, std::size_t who);

 private:
  using Step = iec62386::Step;
  void read_step(const Node& node, std::size_t who);
  const Node::Entry* find_action(const Node& node);
  void carry_out(const Node& node, const Node::Entry& action, Step& step);
  void read_common(const Node& node, Step& step);

  void read_address(const Node& node, const Node::Entry& action, bool naming, Step& step);
  void read_send(const Node& node, const Node::Entry& action, Step& step);
  void read_press(const Node& value, Step& step);
  void read_power(const Node& value, Step& step);
  void read_fault(const Node& value, bool on, Step& step);
  void read_swap(const Node& node, const Node& value, Step& step);
  void read_checks(const Node& value, bool seen, Step& step);
  void read_check(const Node& key, const Node& value, bool seen, Step& step);
  bool read_findings(const Node& value, iec62386::Check& check);
  std::optional<iec62386::Fact> read_fact(const Node& key, std::size_t dot, iec62386::Check& check);
  iec62386::Index controller_of(const Node& node, const char* key);
  void controller_from(const Node& value, Step& step);

  Complaints& complaints_;
  iec62386::Scenario& scenario_;
  LineNames names_;
  std::size_t steps_ = 0;
};

}  // namespace drybus::tools
