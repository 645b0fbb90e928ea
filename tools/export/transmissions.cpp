#include "tools/export/transmissions.h"

#include <utility>

#include "model/record/trace.h"

namespace drybus::tools {

namespace {

constexpr std::size_t none = ~std::size_t{0};

class Gatherer {
 public:
  explicit Gatherer(const sim::Record& record) : record_(record), ended_by_(record.size() + 1, none) {}

  std::vector<Transmission> gather() {
    for (sim::EntryId id = 1; id <= record_.size(); ++id) take(id, record_[id]);
    return std::move(all_);
  }

 private:
  void take(sim::EntryId id, const sim::Entry& entry) {
    const model::What what = model::what(entry);
    if (what == model::What::sent) begin(id, entry);
    if (what == model::What::sent_whole) end(id, entry.who, false);
    if (what == model::What::heard && ended_by_[entry.cause] != none)
      all_[ended_by_[entry.cause]].heard.push_back(id);
    if (what == model::What::lost) lose(id, entry);
  }

  void begin(sim::EntryId id, const sim::Entry& entry) {
    if (under_way_.size() <= entry.who) under_way_.resize(entry.who + std::size_t{1}, none);
    under_way_[entry.who] = all_.size();
    all_.push_back({entry.who, model::unpack(entry.b), id, sim::no_entry, false, {}, {}});
  }

  void end(sim::EntryId id, sim::NodeId sender, bool cut_short) {
    if (under_way_.size() <= sender || under_way_[sender] == none) return;
    const std::size_t index = std::exchange(under_way_[sender], none);
    all_[index].ended = id;
    all_[index].cut_short = cut_short;
    ended_by_[id] = index;
  }

  void lose(sim::EntryId id, const sim::Entry& entry) {
    if (model::why_lost(entry) == sim::Loss::cut_short) return end(id, entry.who, true);
    if (ended_by_[entry.cause] != none) all_[ended_by_[entry.cause]].lost.push_back(id);
  }

  const sim::Record& record_;
  std::vector<Transmission> all_;
  std::vector<std::size_t> under_way_;  ///< by node
  std::vector<std::size_t> ended_by_;   ///< by entry
};

}  // namespace

std::vector<Transmission> transmissions(const sim::Record& record) {
  return Gatherer{record}.gather();
}

}  // namespace drybus::tools
