// Messages between the ranks of a job of MPI. Whoever waits looks a thousand times a second and sleeps in between: a rank
// that works has the core for itself. Called by one thread of a process.
#pragma once

#include <optional>
#include <utility>

#include "tools/cluster/message.h"

namespace drybus::tools {

class Wire {
 public:
  /// Joins the job. Throws Unusable where MPI cannot be had as it is needed.
  Wire(int* argc, char*** argv);
  Wire(const Wire&) = delete;
  Wire& operator=(const Wire&) = delete;

  [[nodiscard]] std::size_t rank() const { return rank_; }
  [[nodiscard]] std::size_t size() const { return size_; }

  void send(std::size_t to, const Message& message) const;

  struct Received {
    std::size_t from = 0;
    Message message;
  };
  /// What has come, if anything has.
  std::optional<Received> receive();

  /// Leaves together with everybody. With a rank missing that would never end.
  static void leave();
  /// Ends the job with this code, whoever is missing: a rank that hangs would keep it for ever.
  [[noreturn]] static void end_job(int code);

 private:
  std::size_t rank_ = 0;
  std::size_t size_ = 1;
};

}  // namespace drybus::tools
