// Telegrams as frames and back, and what becomes of damaged ones.
#include "model/family/telegram.h"

#include <doctest/doctest.h>

#include <set>
#include <string>
#include <vector>

#include "sim/random.h"
#include "tests/support/printing.h"
#include "tests/support/seeds.h"

using namespace drybus::model;
namespace sim = drybus::sim;

namespace {

std::vector<Telegram> some_of_every_kind() {
  std::vector<Telegram> all;
  for (std::uint8_t kind = 1; kind <= last_telegram_kind; ++kind) {
    for (const std::uint8_t value : std::initializer_list<std::uint8_t>{0, 1, 4, 127, 128, 255}) {
      all.push_back({static_cast<TelegramKind>(kind), value, static_cast<std::uint8_t>(255 - value),
                     static_cast<std::uint8_t>(value ^ 0x55), static_cast<std::uint8_t>(value / 2)});
    }
  }
  return all;
}

constexpr const char* random_damage = "a frame with random damage is nothing, or what it was";

}  // namespace

TEST_SUITE("telegram") {
  TEST_CASE("a telegram of any kind reads back from its frame as itself") {
    for (const Telegram& telegram : some_of_every_kind()) {
      const sim::Frame frame = encode(telegram);
      CHECK(sim::intact(frame));
      CHECK(decode(frame) == telegram);
      CHECK(unpack(pack(telegram)) == telegram);
    }
  }

  TEST_CASE("a frame is kind, site, zone, channel, argument and a CRC, its high byte first") {
    const sim::Frame frame = encode({TelegramKind::assign, 23, 4, 1, 9});
    CHECK(frame.size == 7);
    CHECK(std::vector<int>(frame.bytes.begin(), frame.bytes.begin() + 5) == std::vector<int>{4, 23, 4, 1, 9});
    const std::uint16_t crc = sim::crc16(std::span{frame.bytes}.first(5));
    CHECK(frame.bytes[5] == crc >> 8);
    CHECK(frame.bytes[6] == (crc & 0xff));
  }

  TEST_CASE("the CRC is CRC-16/XMODEM") {
    // Check value over "123456789": catalogue of parametrised CRC algorithms, CRC-16/XMODEM.
    const std::vector<std::uint8_t> digits{'1', '2', '3', '4', '5', '6', '7', '8', '9'};
    CHECK(sim::crc16(digits) == 0x31C3);
  }

  TEST_CASE("any one, two or three bits wrong, and any burst of up to sixteen, and a frame is nothing") {
    // A CRC-16 whose polynomial has the factor x + 1 finds every odd number of errors, and every burst of up
    // to 16 bits; it finds all double errors in frames far below 32768 bits (textbook properties, from
    // memory).
    const sim::Frame sound = encode({TelegramKind::assign, 23, 4, 1, 0});
    const std::size_t bits = std::size_t{sound.size} * 8;
    const auto flip = [](sim::Frame& frame, std::size_t bit) {
      frame.bytes[bit / 8] ^= static_cast<std::uint8_t>(0x80 >> bit % 8);
    };
    std::size_t tried = 0;
    std::size_t undetected = 0;
    const auto count = [&](const sim::Frame& damaged) {
      ++tried;
      if (decode(damaged)) ++undetected;
    };
    for (std::size_t a = 0; a < bits; ++a) {
      sim::Frame one = sound;
      flip(one, a);
      count(one);
      for (std::size_t b = a + 1; b < bits; ++b) {
        sim::Frame two = one;
        flip(two, b);
        count(two);
        for (std::size_t c = b + 1; c < bits; ++c) {
          sim::Frame three = two;
          flip(three, c);
          count(three);
        }
      }
      for (unsigned pattern = 1; pattern < 0x10000 && a + 16 <= bits; ++pattern) {
        sim::Frame burst = sound;
        for (unsigned i = 0; i < 16; ++i) {
          if ((pattern >> i & 1u) != 0) flip(burst, a + i);
        }
        count(burst);
      }
    }
    CHECK(tried > 2'000'000);
    CHECK(undetected == 0);
  }

  TEST_CASE(random_damage) {
    for (const std::uint64_t seed : drybus::test::seeds(4)) {
      INFO(drybus::test::replay(seed, random_damage));
      sim::Stream random{seed, sim::Purpose::generator, 1, 0};
      int passed = 0;
      constexpr int tries = 200'000;
      for (int i = 0; i < tries; ++i) {
        sim::Frame frame;
        frame.size = 7;
        for (std::uint8_t& byte : frame.bytes) byte = static_cast<std::uint8_t>(random.below(256));
        const auto decoded = decode(frame);
        if (!decoded) continue;
        ++passed;
        sim::Frame again = encode(*decoded);
        for (std::size_t b = 7; b < frame.bytes.size(); ++b) again.bytes[b] = frame.bytes[b];
        REQUIRE(again == frame);
      }
      CHECK(passed <= 8);  // expected 200000 x 11/256 / 65536 = 0.13
    }
  }

  TEST_CASE(
      "a frame of another length, or of a kind that does not exist, is nothing even where its CRC fits") {
    const std::vector<std::uint8_t> five{4, 23, 4, 1, 0};
    CHECK(decode(sim::sealed(five)).has_value());
    CHECK_FALSE(decode(sim::sealed(std::vector<std::uint8_t>{4, 23, 4, 1})).has_value());
    CHECK_FALSE(decode(sim::sealed(std::vector<std::uint8_t>{4, 23, 4, 1, 0, 0})).has_value());
    CHECK_FALSE(decode(sim::Frame{}).has_value());
    for (const std::uint8_t kind : {std::uint8_t{0}, std::uint8_t{last_telegram_kind + 1}, std::uint8_t{255}}) {
      CHECK_FALSE(decode(sim::sealed(std::vector<std::uint8_t>{kind, 23, 4, 1, 0})).has_value());
    }
  }

  TEST_CASE("every kind has a name of its own") {
    std::set<std::string_view> names;
    for (std::uint8_t kind = 1; kind <= last_telegram_kind; ++kind)
      names.insert(to_string(static_cast<TelegramKind>(kind)));
    CHECK(names.size() == last_telegram_kind);
    CHECK(names.count("?") == 0);
    CHECK(to_string(static_cast<TelegramKind>(0)) == "?");
    CHECK(to_string(static_cast<TelegramKind>(last_telegram_kind + 1)) == "?");
  }

  TEST_CASE("a telegram in words says what it is about") {
    CHECK(to_string(Telegram{TelegramKind::assign, 23, 4, 1, 0}) == "assign 23/4/1");
    CHECK(to_string(Telegram{TelegramKind::identify, 23, 4, 12, 0}) == "identify 23/4/12");
    CHECK(to_string(Telegram{TelegramKind::recall, 23, 4, 0, 2}) == "recall scene 2 in 23/4");
    CHECK(to_string(Telegram{TelegramKind::store, 23, 4, 0, 3}) == "store scene 3 in 23/4");
    CHECK(to_string(Telegram{TelegramKind::beacon, 23, 4, 0, 0}) == "beacon 23/4");
    CHECK(to_string(Telegram{TelegramKind::on, 1, 15, 0, 0}) == "on 1/15");
  }
}
