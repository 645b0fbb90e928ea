// A small site and its script, built in code, for tests that need no file: plate P1 (23/4) and modules M1, M2, ... in one
// place, on one line. The family's numbers are the tests' own, so that no test depends on a shipped family file.
#pragma once

#include <string>

#include "model/people/script.h"
#include "model/run/run.h"

namespace drybus::tests {

using namespace std::chrono_literals;

enum : model::Button { set, up, down, accept, off, one };

model::Family test_family();

/// Plates P1 (23/4) ... and modules M1 ... (intended 23/4/1 ...), all in place `hall`, on one line.
model::Scenario small_scenario(std::size_t modules = 3, std::size_t plates = 1,
                               const model::Family& family = test_family());

/// Adds steps to a scenario's installer.
class Script {
 public:
  explicit Script(model::Scenario& scenario, std::size_t person = 0) : scenario_(scenario), person_(person) {}

  Script& press(const std::string& name, model::Button button = 0, sim::Duration duration = 200ms);
  Script& hold(const std::string& name, model::Button button, sim::Duration duration);
  Script& wait(sim::Duration duration);
  Script& at(sim::Duration when);  ///< the next step begins then
  Script& power(const std::string& name, bool on);
  Script& fault(model::Fault fault);
  Script& switches(const std::string& plate, std::uint8_t site, std::uint8_t zone);
  Script& look(const std::string& name, model::Fact fact, const std::string& wanted);
  Script& walk(model::PlaceId place);

 private:
  model::Step& add(model::StepKind kind);
  model::DeviceId device(const std::string& name) const;

  model::Scenario& scenario_;
  std::size_t person_;
  std::optional<sim::Instant> at_;
};

/// Puts the plate and a module in setup, steps to the channel, assigns.
void address(Script& script, const std::string& plate, const std::string& module, int channel);

}  // namespace drybus::tests
