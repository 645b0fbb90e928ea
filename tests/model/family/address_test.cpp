#include "model/family/address.h"

#include <doctest/doctest.h>

#include <string_view>

using drybus::model::Address;
using drybus::model::parse_address;

TEST_SUITE("address") {
  TEST_CASE("an address is written site/zone/channel") {
    CHECK(to_string(Address{23, 4, 1}) == "23/4/1");
    CHECK(to_string(Address{0, 0, 0}) == "0/0/0");
    CHECK(to_string(Address{255, 255, 255}) == "255/255/255");
  }

  TEST_CASE("every address that is written reads back as itself") {
    for (unsigned site = 0; site < 256; ++site) {
      for (unsigned rest = 0; rest < 256; ++rest) {
        const Address address{static_cast<std::uint8_t>(site), static_cast<std::uint8_t>(rest),
                              static_cast<std::uint8_t>((site * 7 + rest * 13) % 256)};
        REQUIRE(parse_address(to_string(address)) == address);
      }
    }
  }

  TEST_CASE("what is not three whole numbers of 0 to 255 between two slashes is no address") {
    using namespace std::string_view_literals;
    for (const std::string_view text : {""sv,
                                        "/"sv,
                                        "//"sv,
                                        "23"sv,
                                        "23/4"sv,
                                        "23/4/"sv,
                                        "/4/1"sv,
                                        "23//1"sv,
                                        "23/4/1/"sv,
                                        "23/4/1/2"sv,
                                        " 23/4/1"sv,
                                        "23/4/1 "sv,
                                        "23 /4/1"sv,
                                        "256/4/1"sv,
                                        "23/256/1"sv,
                                        "23/4/256"sv,
                                        "-1/4/1"sv,
                                        "+1/4/1"sv,
                                        "23.4.1"sv,
                                        "23/4/x"sv,
                                        "0x17/4/1"sv,
                                        "23\\4\\1"sv,
                                        "99999999999999999999/4/1"sv,
                                        "23/4/1\0"sv}) {
      CAPTURE(text);
      CHECK_FALSE(parse_address(text).has_value());
    }
  }

  TEST_CASE("leading zeros are read, for people write them") {
    CHECK(parse_address("023/04/001") == Address{23, 4, 1});
  }

  TEST_CASE("addresses are in the order of site, then zone, then channel") {
    CHECK(Address{1, 15, 12} < Address{2, 1, 1});
    CHECK(Address{2, 1, 12} < Address{2, 2, 1});
    CHECK(Address{2, 2, 1} < Address{2, 2, 2});
  }
}
