#include "tools/export/line_vcd.h"

#include <algorithm>
#include <tuple>

#include "tools/export/vcd_writer.h"

namespace drybus::tools {

namespace {

struct Change {
  sim::Instant at;
  std::size_t line;
  bool high;
};

/// Edges fall and rise in turn.
std::vector<Change> changes_of(const protocol::Run& run) {
  std::vector<Change> changes;
  for (std::size_t line = 0; line < run.carried.size(); ++line) {
    const sim::Edges& edges = run.carried[line].edges;
    for (std::size_t i = 0; i < edges.size(); ++i) changes.push_back({edges[i], line, i % 2 == 1});
  }
  std::stable_sort(changes.begin(), changes.end(),
                   [](const Change& a, const Change& b) { return a.at < b.at; });
  return changes;
}

}  // namespace

std::string line_vcd(const protocol::Run& run) {
  VcdWriter writer{"drybus " DRYBUS_VERSION};
  writer.comment("1: the line is high (idle); 0: somebody pulls it low");
  writer.open_scope("lines");
  std::vector<VcdWriter::Variable> lines;
  for (const protocol::Carried& carried : run.carried) lines.push_back(writer.declare(carried.line, 1));
  writer.close_scope();
  for (const VcdWriter::Variable line : lines) writer.set(sim::start_of_run, line, 1U);
  sim::Instant end = run.ended;
  for (const Change& change : changes_of(run)) {
    writer.set(change.at, lines[change.line], change.high ? 1U : 0U);
    end = std::max(end, change.at);
  }
  return writer.finish(end);
}

}  // namespace drybus::tools
