// The C interface as a firmware sees it: what the host answers, what it does, and what it will not have. The
// firmware here is made of functions of the test; libraries and guards are tested in
// tests/tools/firmware_test.cpp.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <vector>

#include "model/firmware/logic.h"
#include "model/record/observables.h"
#include "model/run/run.h"
#include "model/world/key.h"
#include "sim/random.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;

/// What a test's module remembers.
struct Mine {
  std::uint32_t presses;
  std::uint32_t drawn;
};

drybus_firmware module_with(std::uint32_t memory_size) {
  drybus_firmware firmware{};
  firmware.abi = DRYBUS_FIRMWARE_ABI;
  firmware.size = sizeof firmware;
  firmware.kind = DRYBUS_MODULE;
  firmware.name = "test module";
  firmware.state_size = sizeof(Mine);
  firmware.memory_size = memory_size;
  return firmware;
}

/// Puts a module firmware in a scenario. It must outlive the scenario.
void put_in(model::Scenario& scenario, const drybus_firmware& firmware) {
  model::FirmwareSeat seat;
  seat.firmware = &firmware;
  seat.caller = std::make_shared<model::UnguardedCaller>();
  seat.state_size = firmware.state_size;
  scenario.site.logic = std::make_shared<model::FirmwareLogic>(scenario.site, std::nullopt, seat);
}

/// A scenario in which the local button of M1 is pressed so many times.
model::Scenario with_presses(const drybus_firmware& firmware, int presses) {
  model::Scenario scenario = small_scenario(2);
  put_in(scenario, firmware);
  Script script{scenario};
  for (int i = 0; i < presses; ++i) script.press("M1").wait(1s);
  return scenario;
}

/// What is said when the second argument's handler is called for a press.
std::string fault_of(void (*button)(const drybus_host*, drybus_device*, void*, std::uint32_t,
                                    std::uint32_t)) {
  drybus_firmware firmware = module_with(4);
  firmware.button = button;
  const model::RunResult result = model::run(with_presses(firmware, 1));
  REQUIRE(result.broken_off.has_value());
  CHECK_FALSE(result.passed());
  CHECK(result.broken_off->device == 1);
  CHECK(result.broken_off->at == sim::start_of_run);
  REQUIRE(result.broken_off->step.has_value());
  CHECK(result.broken_off->step->step == 0);
  return result.broken_off->what;
}

bool says(const std::string& text, const char* what) {
  return text.find(what) != std::string::npos;
}

}  // namespace

TEST_SUITE("firmware interface") {
  TEST_CASE("a firmware draws the same numbers in every run with that seed, and each device its own") {
    drybus_firmware firmware = module_with(0);
    firmware.reset = [](const drybus_host* host, drybus_device* device, void* state) {
      static_cast<Mine*>(state)->drawn = host->random(device) ^ host->random(device) >> 1;
    };
    const model::Scenario scenario = with_presses(firmware, 1);
    const auto drawn = [&](std::uint64_t seed, std::size_t module) {
      model::RunOptions options;
      options.seed = seed;
      const model::RunResult result = model::run(scenario, options);
      Mine mine;
      const std::size_t stride = scenario.site.logic->bytes_per_device(false);
      std::memcpy(&mine, result.world.firmware.data() + module * stride + 16, sizeof mine);
      return mine.drawn;
    };
    CHECK(drawn(1, 0) == drawn(1, 0));
    CHECK(drawn(1, 0) != drawn(1, 1));
    CHECK(drawn(1, 0) != drawn(2, 0));
    // The stream of the device, as any other purpose has one: upper halves of 64-bit draws.
    sim::Stream stream{1, sim::Purpose::firmware, scenario.site.network.nodes[1].owner, 0};
    const auto first = static_cast<std::uint32_t>(stream.next() >> 32);
    const auto second = static_cast<std::uint32_t>(stream.next() >> 32);
    CHECK(drawn(1, 0) == (first ^ second >> 1));
  }

  TEST_CASE("memory is kept without power, the block is not") {
    drybus_firmware firmware = module_with(2);
    firmware.button = [](const drybus_host* host, drybus_device* device, void* state, std::uint32_t,
                         std::uint32_t closed) {
      if (closed == 0) return;
      const auto presses = static_cast<std::uint8_t>(++static_cast<Mine*>(state)->presses);
      host->memory_write(device, 0, &presses, 1);
    };
    model::Scenario scenario = small_scenario(1);
    put_in(scenario, firmware);
    Script{scenario}.press("M1").wait(1s).press("M1").power("M1", false).wait(1s);
    const model::RunResult result = model::run(scenario);
    Mine mine;
    std::memcpy(&mine, result.world.firmware.data() + 16, sizeof mine);
    CHECK(mine.presses == 0);
    CHECK(result.world.firmware[32] == std::byte{2});
    CHECK(result.world.firmware[33] == std::byte{0xff});  // never written
  }

  TEST_CASE("a store that the power cut in two leaves 0xff where it wrote, and is told of") {
    drybus_firmware firmware = module_with(6);
    firmware.button = [](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                         std::uint32_t closed) {
      if (closed == 0) return;
      const std::uint8_t bytes[] = {1, 2, 3};
      host->memory_write(device, 0, bytes, 1);  // outside of a store: safe
      host->store_begin(device);
      host->memory_write(device, 2, bytes, 2);
      host->memory_write(device, 3, bytes, 2);
      host->start_timer(device, DRYBUS_TIMER_STORE, 1'000'000'000);
    };
    firmware.timer = [](const drybus_host* host, drybus_device* device, void*, std::uint32_t timer) {
      if (timer == DRYBUS_TIMER_STORE) host->store_end(device);
    };
    const auto memory_after = [&](bool cut) {
      model::Scenario scenario = small_scenario(1);
      put_in(scenario, firmware);
      Script script{scenario};
      script.press("M1");
      if (!cut) script.wait(2s);
      script.power("M1", false).wait(1s);
      const model::RunResult result = model::run(scenario);
      std::vector<int> bytes;
      for (std::size_t i = 0; i < 6; ++i)
        bytes.push_back(std::to_integer<int>(result.world.firmware[32 + i]));
      const auto is_torn = [](const sim::Entry& entry) {
        return model::what(entry) == model::What::store_torn;
      };
      const auto entries = result.record.entries();
      CHECK(std::any_of(entries.begin(), entries.end(), is_torn) == cut);
      return bytes;
    };
    CHECK(memory_after(true) == std::vector<int>{1, 255, 255, 255, 255, 255});
    CHECK(memory_after(false) == std::vector<int>{1, 255, 1, 1, 2, 255});
  }

  TEST_CASE("what a firmware tells of itself is what facts are read from") {
    drybus_firmware firmware = module_with(0);
    firmware.reset = [](const drybus_host* host, drybus_device* device, void*) {
      host->tell_memory(device, 7, 3, 2, DRYBUS_POWER_UP_LAST);
      host->tell(device, DRYBUS_TELL_MODE, DRYBUS_SETUP, DRYBUS_BY_GESTURE);
      host->show(device, DRYBUS_STEADY);
      host->show(device, DRYBUS_STEADY);  // shows already
      host->set_level(device, 250, 0);
    };
    model::Scenario scenario = small_scenario(1);
    put_in(scenario, firmware);
    Script script{scenario};
    script.wait(1s);
    script.look("M1", model::Fact::address, "7/3/2").look("M1", model::Fact::mode, "setup");
    script.look("M1", model::Fact::power_up, "last").look("M1", model::Fact::indicator, "steady");
    script.look("M1", model::Fact::level, "25 %");
    const model::RunResult result = model::run(scenario);
    for (const model::CheckResult& check : result.checks) CHECK_MESSAGE(check.passed, check.actual);
    const auto shows = [](const sim::Entry& entry) {
      return model::what(entry) == model::What::indicator && entry.who == 1;
    };
    const auto entries = result.record.entries();
    CHECK(std::count_if(entries.begin(), entries.end(), shows) == 1);
  }

  TEST_CASE("damaged telegrams come only to those who ask for them, with the CRC that was heard") {
    drybus_firmware firmware = module_with(0);
    firmware.telegram = [](const drybus_host*, drybus_device*, void* state, const drybus_telegram* telegram) {
      auto& mine = *static_cast<Mine*>(state);
      ++mine.presses;
      if (telegram->intact != 0) return;
      const std::uint8_t payload[] = {telegram->kind, telegram->site, telegram->zone, telegram->channel,
                                      telegram->argument};
      const auto crc = static_cast<std::uint16_t>(telegram->crc_high << 8 | telegram->crc_low);
      mine.drawn = crc == sim::crc16(payload) ? 1 : 2;
    };
    for (const bool asks : {false, true}) {
      firmware.flags = asks ? std::uint32_t{DRYBUS_HEARS_DAMAGED} : 0;
      model::Scenario scenario = small_scenario(1);
      put_in(scenario, firmware);
      model::Fault deaf;
      deaf.kind = model::FaultKind::deaf;
      deaf.device = 1;
      deaf.count = 1;
      Script{scenario}.fault(deaf).press("P1", off).wait(1s).press("P1", off).wait(1s);
      const model::RunResult result = model::run(scenario);
      Mine mine;
      std::memcpy(&mine, result.world.firmware.data() + 16, sizeof mine);
      CHECK(mine.presses == (asks ? 2 : 1));
      CHECK(mine.drawn == (asks ? 2 : 0));
    }
  }

  TEST_CASE("what cannot be asked for ends the run, with the device, the handler and the time") {
    const std::string text =
        fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t, std::uint32_t) {
          host->start_timer(device, 11, 1'000'000);
          host->set_level(device, 1001, 0);  // only the first counts
        });
    CHECK(text ==
          "M1: the firmware 'test module', in its handler for button, starts a timer that does not exist");
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->set_level(device, 1001, 0); }),
               "sets a level above 1000"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->set_level(device, 10, -1); }),
               "fades for less than no time"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->start_timer(device, 0, 999); }),
               "less than a microsecond"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->start_timer(device, 0, INT64_MAX); }),
               "longer than 73 years"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->stop_timer(device, 11); }),
               "stops a timer that does not exist"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->send(device, 12, 1, 1, 1, 0); }),
               "a telegram of a kind that does not exist"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->show(device, 6); }),
               "a pattern that does not exist"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->memory_write(device, 4, "", 1); }),
               "writes beyond the end of its memory"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void* state, std::uint32_t,
                           std::uint32_t) { host->memory_read(device, 0xffff'ffff, state, 4); }),
               "reads beyond the end of its memory"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->store_end(device); }),
               "ends a store that it has not begun"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->tell(device, DRYBUS_TELL_MODE, 2, 0); }),
               "tells a mode that does not exist"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->tell(device, DRYBUS_TELL_CHANNEL, 2, 0); }),
               "which only plates stand at"));
    CHECK(says(fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t,
                           std::uint32_t) { host->tell(device, 99, 0, 0); }),
               "tells something that does not exist"));
    CHECK(says(
        fault_of([](const drybus_host* host, drybus_device* device, void*, std::uint32_t, std::uint32_t) {
          for (int i = 0; i < 25; ++i) host->stop_timer(device, 1);
        }),
        "more than 24 things"));
  }

  TEST_CASE("a firmware that wakes itself up without end does not fill the memory") {
    drybus_firmware firmware = module_with(0);
    firmware.reset = [](const drybus_host* host, drybus_device* device, void*) {
      host->start_timer(device, 0, DRYBUS_SHORTEST_TIMER);
    };
    firmware.timer = [](const drybus_host* host, drybus_device* device, void*, std::uint32_t) {
      host->start_timer(device, 0, DRYBUS_SHORTEST_TIMER);
    };
    model::Scenario scenario = small_scenario(1);
    put_in(scenario, firmware);
    Script{scenario}.wait(1min);
    model::RunOptions options;
    options.budget.events = 2'000'000;
    const model::RunResult result = model::run(scenario, options);
    REQUIRE(result.broken_off.has_value());
    CHECK(result.broken_off->used_up);
    CHECK(says(result.broken_off->what,
               "its firmware keeps waking itself up, or sending: stopped after 2 million"));
    CHECK(says(result.broken_off->what, "timer made 100 % of the last 1 million"));
    CHECK(result.world.now < sim::start_of_run + 3s);
  }

  TEST_CASE("a firmware that fails before the run begins fails that run, and nothing else") {
    drybus_firmware firmware = module_with(4);
    firmware.provision = [](const drybus_host* host, drybus_device* device, void*, const drybus_provision*) {
      host->memory_write(device, 3, "ab", 2);
    };
    const model::RunResult result = model::run(with_presses(firmware, 1));
    REQUIRE(result.broken_off.has_value());
    CHECK(says(result.broken_off->what, "in its handler for provision, writes beyond the end of its memory"));
    CHECK_FALSE(result.broken_off->step.has_value());
    CHECK(result.world.devices.size() == 3);
  }

  TEST_CASE("worlds with firmware are values: a copy goes on alike, and blocks tell worlds apart") {
    drybus_firmware firmware = module_with(4);
    firmware.button = [](const drybus_host*, drybus_device*, void* state, std::uint32_t, std::uint32_t) {
      ++static_cast<Mine*>(state)->presses;
    };
    const model::Scenario scenario = with_presses(firmware, 3);
    model::World world = model::initial_world(scenario);
    model::Simulation simulation{scenario, world};
    simulation.begin();
    simulation.run_until(sim::start_of_run + 2s);
    model::World fork = world;
    CHECK(fork == world);
    CHECK(model::hash_of(fork) == model::hash_of(world));
    model::Simulation other{scenario, fork};
    simulation.run_until(sim::start_of_run + 9s);
    CHECK_FALSE(fork == world);
    other.run_until(sim::start_of_run + 9s);
    CHECK(fork == world);

    const auto key_of = [&](const model::World& of) {
      std::vector<std::byte> key;
      model::WorldKey{scenario, model::initial_world(scenario)}.write(of, key);
      return key;
    };
    CHECK(key_of(fork) == key_of(world));
    fork.firmware[16] ^= std::byte{1};
    CHECK_FALSE(fork == world);
    CHECK(model::hash_of(fork) != model::hash_of(world));
    CHECK(key_of(fork) != key_of(world));
    sim::Digest one, two;
    add_to(one, fork);
    add_to(two, world);
    CHECK(one.value().hex() != two.value().hex());
  }

  TEST_CASE(
      "what can be seen or heard has a digest of its own, which causes and hidden things do not change") {
    model::Scenario scenario = small_scenario(1);
    Script{scenario}.press("P1", off).wait(1s);
    const model::RunResult result = model::run(scenario);
    sim::Record told = result.record;
    const std::string before = model::observable_digest(told).hex();
    told.add({result.world.now, 1, 0, static_cast<std::uint16_t>(model::What::mode), 0, 1, 0});
    CHECK(model::observable_digest(told).hex() == before);
    told.add({result.world.now, 1, 0, static_cast<std::uint16_t>(model::What::indicator), 0, 1, 0});
    CHECK(model::observable_digest(told).hex() != before);
  }
}
