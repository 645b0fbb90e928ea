// Tells what became different at the bench since it was last asked: `changed`, or the whole `state` where the
// bench stands somewhere else. See PROTOCOL.md.
#pragma once

#include <boost/json.hpp>
#include <map>
#include <optional>
#include <set>
#include <vector>

#include "tools/panel/bench.h"
#include "tools/panel/curtain.h"
#include "tools/panel/looks.h"

namespace drybus::tools {

class Reporter {
 public:
  /// Takes the bench as it stands for told.
  Reporter(const Bench& bench, Curtain curtain, Looks looks = {});

  /// From now on these are looked at; they are taken for told as they stand.
  void look_at(const Bench& bench, Looks looks);

  /// Nothing when nothing is different but the time.
  [[nodiscard]] std::optional<boost::json::object> what_changed(const Bench& bench, Curtain curtain);

 private:
  void take_for_told(const Bench& bench);
  [[nodiscard]] bool stands_elsewhere(const Bench& bench) const;
  void add_devices(const Bench& bench, boost::json::object& changed);
  void add_rest_of_site(const Bench& bench, boost::json::object& changed);
  void add_findings(const Bench& bench, boost::json::object& changed);
  void add_lines(const Bench& bench, boost::json::object& changed);
  void add_telegrams(const Bench& bench, boost::json::object& changed);
  void add_branches(const Bench& bench, boost::json::object& changed);
  void add_clock(const Bench& bench, boost::json::object& changed);

  [[nodiscard]] bool tells(const Bench& bench, sim::EntryId id) const;

  Curtain curtain_ = Curtain::open;
  std::optional<Lookouts> lookouts_;  ///< while the curtain is drawn
  std::uint64_t jumps_ = 0;
  BranchId branch_ = 0;
  std::uint32_t rewritings_ = 0;
  std::uint64_t events_ = 0;
  std::size_t steps_ = 0;
  std::size_t told_entries_ = 0;  ///< of what is known of the branch
  Looks looks_;
  std::vector<model::DeviceId> looked_at_;
  std::vector<boost::json::object> devices_;  ///< of those looked at
  boost::json::value people_;
  boost::json::value links_;
  boost::json::value branches_;  ///< without what time alone changes
  boost::json::value pause_;
  std::vector<model::Observation> observations_;
  std::set<sim::EntryId> unfinished_;                ///< lines that will read otherwise
  std::map<sim::EntryId, std::uint32_t> telegrams_;  ///< how much was known of each when it was told
  bool playing_ = false;
  double speed_ = 0;
};

}  // namespace drybus::tools
