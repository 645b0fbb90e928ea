// Many independent pieces of work, each asked for by its number and answered in bytes: done by threads of this process, or by
// the ranks of a job of which this process is one.
#pragma once

#include <cstddef>
#include <functional>
#include <stdexcept>
#include <string>

namespace drybus::tools {

struct Pieces {
  std::size_t count = 0;
  std::size_t jobs = 0;  ///< threads of one process; 0: as many as there are cores
  /// Does one. What comes of it must not depend on who does it, or on what was done before.
  std::function<std::string(std::size_t)> work;
  /// Takes what came of one: once for each, one at a time, in any order, in the process that tells the result.
  std::function<void(std::size_t, const std::string&)> take;
};

class Workforce {
 public:
  virtual ~Workforce() = default;

  /// Comes back when every piece is taken. The first exception of any `work` is passed on.
  virtual void do_all(const Pieces& pieces) = 0;

  /// Whether it is nothing but this process.
  [[nodiscard]] virtual bool is_here() const = 0;

  /// Whether this process tells the result. One that does not prints, writes and logs nothing.
  [[nodiscard]] virtual bool tells() const { return true; }
};

/// Threads, unless a program was started as one of several.
Workforce& workforce();

/// Before a command begins, by main alone. `workforce` must outlive the command.
void use_workforce(Workforce& workforce);

}  // namespace drybus::tools
