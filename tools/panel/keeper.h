// Writes a panel's bench to its folder while the panel goes on, as often as is worth it.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "tools/log/log.h"
#include "tools/panel/panel.h"

namespace drybus::tools {

class Keeper {
 public:
  /// `folder`: nothing is kept without one.
  Keeper(std::optional<std::filesystem::path> folder, KeptLinks links, Log log)
      : folder_(std::move(folder)), links_(std::move(links)), log_(std::move(log)) {}

  /// Writes what has changed: within a second, or within five where only time goes by. A disk that is full is told to who
  /// leads, once until it is not full any more; the panel goes on, and what was written last stays.
  void look(Panel& panel, RealTime real);
  /// The panel ends.
  void write_last(Panel& panel);

 private:
  bool write(Panel& panel);

  std::optional<std::filesystem::path> folder_;
  KeptLinks links_;
  Log log_;
  std::uint64_t written_ = 0;  ///< Panel::changes then
  RealTime written_at_{};
  bool failed_ = false;
};

}  // namespace drybus::tools
