// The option --firmware: somebody's firmware in place of the built-in plates or modules.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "model/people/script.h"
#include "tools/options/command_line.h"
#include "tools/seat/library.h"

namespace drybus::tools {

/// Adds --firmware to a command. To be called before parse.
void offer_firmware(CommandLine& line);

/// Adds --uptime and --every-turn alone, for a command with a --firmware of its own.
void offer_manner(CommandLine& line);

/// How long a run with firmware may be when nobody says otherwise: a count of milliseconds in 32 bits wraps within it.
inline constexpr sim::Duration longest_firmware_run = std::chrono::hours{24 * 400};

/// What was chosen. A library stays loaded for as long as it is chosen, or in some scenario.
class FirmwareChoice {
 public:
  /// The built-in plates and modules.
  FirmwareChoice() = default;

  /// "module=PATH", "plate=PATH", or "PATH" for every kind that is in it; "built-in" for none. Throws
  /// Unusable.
  explicit FirmwareChoice(const std::vector<std::string>& words, const model::FirmwareManner& manner = {});

  /// Has a scenario's devices react as chosen.
  void put_in(model::Scenario& scenario) const;

  [[nodiscard]] bool built_in() const { return !plate_ && !module_; }

  /// "built-in", or the names of the firmware: "hall dimmer 2.1 (build/dimmer.so)".
  [[nodiscard]] std::string text() const;

  /// The options that choose it again: " --firmware module=build/dimmer.so", or nothing.
  [[nodiscard]] std::string options() const;

  /// Of the libraries' bytes.
  [[nodiscard]] std::string fingerprint() const;

  /// Old states are going to be put back: none of it may allocate from now on.
  void put_back() const;

 private:
  void take(const std::string& word);

  std::vector<std::string> words_;
  model::FirmwareManner manner_;
  std::shared_ptr<FirmwareLibrary> plate_;
  std::shared_ptr<FirmwareLibrary> module_;
};

/// What --uptime and --every-turn say. REQUIRES: they were offered before parse.
model::FirmwareManner read_manner(const CommandLine& line);

/// What --firmware says. REQUIRES: offer_firmware was called before parse.
FirmwareChoice read_firmware(const CommandLine& line);

}  // namespace drybus::tools
