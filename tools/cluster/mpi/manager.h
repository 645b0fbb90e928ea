// Rank 0: hands out pieces, takes what comes of them, does its own share, and has the work of a lost rank done again.
#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "tools/base/workforce.h"
#include "tools/cluster/crew.h"
#include "tools/cluster/ledger.h"
#include "tools/cluster/mpi/wire.h"

namespace drybus::tools {

class Manager final : public Workforce {
 public:
  /// A rank that is not heard of for `patience` counts as lost. `build` is what all ranks have to be.
  Manager(Wire& wire, std::chrono::milliseconds patience, std::string build);

  void do_all(const Pieces& pieces) override;
  [[nodiscard]] bool is_here() const override { return false; }

  /// Tells everybody that it is over. True when all are still there and can leave together.
  bool end();

 private:
  using Clock = std::chrono::steady_clock;

  bool hear(const Pieces& pieces);
  void hear_here(std::size_t from, const Message& message);
  void hear_answer(std::size_t from, const Message& message, const Pieces& pieces);
  void hear_failed(std::size_t from, const Message& message);
  bool take_own(Crew& crew, const Pieces& pieces);
  bool hand_out(Crew& crew, std::size_t threads);
  void look_for_lost();
  void tell_progress(const Pieces& pieces);
  [[nodiscard]] bool waits_for_somebody() const;
  void tell(const Message& message);

  Wire& wire_;
  std::chrono::milliseconds patience_;
  std::string build_;
  Ledger ledger_;
  std::uint32_t stage_ = 0;
  Clock::time_point told_progress_ = Clock::now();
  std::vector<bool> at_stage_;      ///< whether the rank has come to this stage
  std::vector<bool> unfit_;         ///< it cannot take part, and said so
  std::vector<Assembly> assembly_;  ///< of each rank's answers
  std::vector<bool> gone_;          ///< it has said good-bye
};

}  // namespace drybus::tools
