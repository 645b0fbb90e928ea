// Writes a workshop's benches to its folder while they go on, as often as is worth it, and the results to their file.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>

#include "tools/log/log.h"
#include "tools/panel/workshop.h"

namespace drybus::tools {

struct KeepOptions {
  std::optional<std::filesystem::path> folder = {};   ///< nothing is kept without one
  std::optional<std::filesystem::path> results = {};  ///< a CSV that is brought up to date
  bool names = false;                                 ///< in the results
};

class Keeper {
 public:
  Keeper(KeepOptions options, KeptLinks links, Log log)
      : options_(std::move(options)), links_(std::move(links)), log_(std::move(log)) {}

  /// Writes what has changed: a bench within a second or so, or within five where only time goes by; one file at a time, so that
  /// nobody's press waits for many. A disk that is full is told to who leads, once until it is not full any more; the panel goes
  /// on, and what was written last stays.
  void look(Workshop& workshop, RealTime real);
  /// The panel ends.
  void write_last(Workshop& workshop);

 private:
  struct Written {
    std::uint64_t changes = 0;
    RealTime at{};
  };

  bool write_bench(Workshop& workshop, BenchId bench);
  bool write_class(Workshop& workshop);
  bool write_results(Workshop& workshop);
  bool write(Workshop& workshop, const std::filesystem::path& file, const std::string& text);
  [[nodiscard]] std::optional<BenchId> most_overdue(const Workshop& workshop, RealTime real) const;

  KeepOptions options_;
  KeptLinks links_;
  Log log_;
  std::map<BenchId, Written> benches_;
  Written class_;
  std::uint64_t openings_ = 0;
  std::string results_;
  RealTime results_at_{};
  bool failed_ = false;
};

}  // namespace drybus::tools
