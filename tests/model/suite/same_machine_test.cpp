#include "model/suite/same_machine.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <string>

#include "model/suite/mutants.h"
#include "tests/support/device_bench.h"
#include "tests/support/printing.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

Mutant mutant_with(const Family& family, std::string_view words) {
  for (Mutant& mutant : mutants_of_rows(family)) {
    if (mutant.what.find(words) != std::string::npos) return mutant;
  }
  FAIL("no mutant is called " << std::string{words});
  return {};
}

bool same(const Family& family, const Mutant& mutant) {
  Family altered = family;
  mutant.alter(altered);
  return do_the_same(family, altered, *mutant.rows_of);
}

/// A telegram that a device of the family could hear, from one of two sites and zones.
Telegram random_telegram(std::mt19937_64& draws, const Family& family) {
  Telegram telegram;
  telegram.kind = static_cast<TelegramKind>(1 + draws() % last_telegram_kind);
  telegram.site = static_cast<std::uint8_t>(draws() % 2 == 0 ? family.module.factory_site : 23);
  telegram.zone = static_cast<std::uint8_t>(1 + draws() % 2);
  telegram.channel = static_cast<std::uint8_t>(1 + draws() % 2);
  telegram.argument = static_cast<std::uint8_t>(1 + draws() % family.module.scenes);
  return telegram;
}

/// Sends that nobody of the family makes are left out.
bool heard_in_family(TelegramKind kind, bool announces) {
  return kind != TelegramKind::ask && (announces || kind != TelegramKind::left);
}

template <class Bench>
void one_step(Bench& bench, std::mt19937_64 draws, std::size_t buttons, bool announces) {
  const auto what = draws() % 10;
  const auto button = static_cast<Button>(draws() % buttons);
  if (what < 3) {
    bench.contact(button, draws() % 2 == 0);
  } else if (what < 7) {
    const Telegram telegram = random_telegram(draws, bench.family);
    if (heard_in_family(telegram.kind, announces)) bench.hear(telegram);
  } else if (what == 7 && draws() % 8 == 0) {
    bench.cut_power();
    bench.power_on();
  }
  constexpr sim::Duration waits[] = {10ms, 300ms, 3s, 20s, 200s};
  bench.pass(waits[draws() % 5]);
}

/// Without what only the record tells.
template <class Said>
std::vector<Said> seen_in(std::vector<Said> told) {
  std::erase_if(told, [](const Said& said) { return said.told == Told::refused || said.told == Told::assign_ignored; });
  return told;
}

/// Both go through the same random steps; whether something that they show, send, do or tell was ever different.
template <class Bench>
bool told_apart(const Family& family, const Family& altered, std::uint64_t seed, std::size_t buttons) {
  std::mt19937_64 draws{seed};
  Bench one{family};
  Bench other{altered};
  one.power_on(), other.power_on();
  for (int step = 0; step < 300; ++step) {
    const std::mt19937_64 of_this_step{draws()};
    one_step(one, of_this_step, buttons, false);
    one_step(other, of_this_step, buttons, false);
    if (one.take_sent() != other.take_sent() || seen_in(one.take_told()) != seen_in(other.take_told()) || one.lamp != other.lamp ||
        one.level() != other.level() || one.state.mode != other.state.mode)
      return true;
  }
  return false;
}

}  // namespace

TEST_SUITE("same machine") {
  TEST_CASE("what makes no difference is known: a time that means nothing any more, a condition that always holds") {
    const Family family = test_family();
    for (const char* words : {"setup on exit' does not 'stop beacon'", "setup on exit' does not 'stop time-out'",
                              "'setup, assign heard, if offer whole' without 'offer whole'",
                              "'any, recall heard, if mine, if scene stored' without 'scene stored'",
                              "'any, power on, if power-up last' without 'power-up last'",
                              "'any, power on, if power-up off' comes after 'any, power on, if power-up full'",
                              "setup on entry' does not 'start at channel 0'", "'normal, assign heard' dropped",
                              "'normal, assign heard' does 'keep offer' instead of 'ignore offer'",
                              "'setup, assign pressed, if at channel 0' comes after 'setup, assign pressed, if zone is 0'"}) {
      CAPTURE(words);
      CHECK(same(family, mutant_with(family, words)));
    }
  }

  TEST_CASE("what makes a difference is not said to make none") {
    const Family family = test_family();
    for (const char* words : {"setup on entry' does not 'start time-out'", "setup on entry' does not 'start beacon'",
                              "'any, recall heard, if mine, if scene stored' without 'mine'",
                              "'setup, assign pressed, if zone is 0' dropped", "'normal, gesture held' dropped",
                              "'any, button tapped, if lit' comes after 'any, button tapped'"}) {
      CAPTURE(words);
      CHECK_FALSE(same(family, mutant_with(family, words)));
    }
    CHECK(do_the_same(family, family, DeviceKind::plate));
    CHECK(do_the_same(family, family, DeviceKind::module));
  }

  TEST_CASE("an offer that is not whole matters as soon as a plate can make one") {
    Family family = test_family();
    std::erase_if(family.plate.machine.rows, [](const MachineRow& row) {
      return row.on == Event::assign && row.when == std::vector<Guard>{{Condition::zone_0, true}};
    });
    family.plate.machine.compile();
    CHECK_FALSE(same(family, mutant_with(family, "'setup, assign heard, if offer whole' without 'offer whole'")));
  }

  TEST_CASE("no device can be told apart from one that is said to do the same") {
    const Family family = test_family();
    std::size_t alike = 0;
    std::size_t apart = 0;
    for (const Mutant& mutant : mutants_of_rows(family)) {
      Family altered = family;
      mutant.alter(altered);
      const bool said_to_be_the_same = do_the_same(family, altered, *mutant.rows_of);
      alike += said_to_be_the_same ? 1u : 0u;
      bool differs = false;
      for (const std::uint64_t seed : drybus::test::seeds(3)) {
        INFO(drybus::test::replay(seed, "no device can be told apart*"));
        CAPTURE(mutant.what);
        const bool here = *mutant.rows_of == DeviceKind::plate
                              ? told_apart<PlateBench>(family, altered, seed, family.plate.buttons.size())
                              : told_apart<ModuleBench>(family, altered, seed, 1);
        if (said_to_be_the_same) CHECK_FALSE(here);
        differs = differs || here;
      }
      apart += differs ? 1u : 0u;
    }
    CHECK(alike >= 10);
    CHECK(apart > 100);
  }
}
