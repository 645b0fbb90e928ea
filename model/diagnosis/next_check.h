// What a person on site can do to tell explanations apart, and which of it is worth most.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/diagnosis/diagnosis.h"

namespace drybus::model {

/// Something to do and to look at.
struct SiteCheck {
  enum class Kind : std::uint8_t {
    look,         ///< at a device's indicator, and a module's load
    press_local,  ///< a module's local button, and watch its load and indicator
    press_plate,  ///< a plate's button, and see which loads are lit then
    identify,     ///< put a plate in setup, step it up to a channel, and see which modules show themselves at
                  ///< each
    power_cycle,  ///< cut and restore a module's supply at the isolator, and see whether its load comes up
    read_switches,  ///< of a plate
  };
  Kind kind = Kind::look;
  DeviceId device = no_device;
  Button button = no_button;      ///< press_plate
  std::uint8_t channel = 0;       ///< identify: the last one
  std::vector<DeviceId> watch{};  ///< modules to be watched, for checks that many may answer
  double minutes = 0;             ///< effort, walking included
  std::string text{};  ///< what to ask for: "Press the local button of M4 (attic) and watch its load."
  friend bool operator==(const SiteCheck&, const SiteCheck&) = default;
};

/// What a person would report of a check made in a world, and the world after it.
struct Observed {
  std::string outcome;  ///< "M1 and M2 flash"; the same text whenever the same is seen
  World world;
};
Observed observe(const Scenario& scenario, const World& world, const SiteCheck& check);

struct CheckOutcome {
  std::string text;
  double probability = 0;
  std::vector<std::uint32_t> explanations;  ///< that predict it, by at least one of their ways
};

struct NextCheck {
  SiteCheck check;
  double bits = 0;  ///< expected information
  double bits_per_minute = 0;
  std::vector<CheckOutcome> outcomes;  ///< the most probable first
};

/// The checks that can be made on a site; each has its effort from where the installer stands.
std::vector<SiteCheck> site_checks(const Report& report, const Diagnosis& diagnosis);

/// The check with the greatest expected information per minute; nothing when none tells the explanations
/// apart, or when one of them has `enough`. `left_out`: checks that cannot be made, or were made already.
std::optional<NextCheck> next_check(const Report& report, const Diagnosis& diagnosis, double enough = 0.95,
                                    std::span<const SiteCheck> left_out = {});

/// Finds the explanations that no check on site can tell apart: fills in RankedExplanation::alike.
void find_alike(const Report& report, Diagnosis& diagnosis);

/// In which order to put right what may be wrong when nothing tells it apart any more: explanations by their
/// probability for each minute that the cure is judged to take. Only those that count for more than `least`.
std::vector<std::uint32_t> cure_order(const Report& report, const Diagnosis& diagnosis, double least = 0.01);

/// Takes in the outcome of a check, which may be one that nobody predicted: probabilities and worlds
/// afterwards, in a new order.
void narrow(const Report& report, const Catalogue& catalogue, Diagnosis& diagnosis, const SiteCheck& check,
            const std::string& outcome);

}  // namespace drybus::model
