// Every other rank: comes to the same pile of pieces by the same command line, and does what the manager asks for.
#pragma once

#include <chrono>
#include <string>

#include "tools/base/workforce.h"
#include "tools/cluster/crew.h"
#include "tools/cluster/mpi/wire.h"

namespace drybus::tools {

/// Thrown out of the command when the job is over: what is left of it is the manager's.
struct Dismissed {};

class Worker final : public Workforce {
 public:
  Worker(Wire& wire, std::string build);

  /// Comes back when the manager says that this stage is over. Throws Dismissed when the job is. `take` is never called.
  void do_all(const Pieces& pieces) override;
  [[nodiscard]] bool is_here() const override { return false; }
  [[nodiscard]] bool tells() const override { return false; }

  /// Tells the manager why this rank cannot take part.
  void refuse(const std::string& why);

  /// Waits for the end of the job, which may have been told already. True when all can leave together.
  bool end();

 private:
  using Clock = std::chrono::steady_clock;

  void keep_in_touch();
  bool send_done(Crew& crew);

  Wire& wire_;
  std::string build_;
  std::uint32_t stage_ = 0;
  bool over_ = false;  ///< said by the manager
  Clock::time_point said_ = {};
  Clock::time_point heard_ = Clock::now();
};

}  // namespace drybus::tools
