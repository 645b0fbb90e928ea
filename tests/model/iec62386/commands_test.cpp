// The table of commands: every row done, or told as not done.
#include <doctest/doctest.h>

#include <set>
#include <string>

#include "model/iec62386/frame.h"
#include "model/iec62386/gear_reaction.h"

namespace {

using namespace drybus::iec62386;

TEST_CASE("no opcode stands twice, and what is done has somebody who does it") {
  std::set<unsigned> codes;
  std::set<Op> ops;
  for (const Command& command : opcodes) {
    for (unsigned code = command.code; code <= command.last; ++code) CHECK(codes.insert(code).second);
    CHECK(has_handler(command.op) == command.done());
    if (command.done()) CHECK(ops.insert(command.op).second);
    CHECK((!command.is(uses_dtr0) || command.is(twice)));
  }
  std::set<unsigned> first_bytes;
  for (const Command& command : specials) {
    CHECK(first_bytes.insert(command.code).second);
    CHECK((command.code & 1U) == 1);
    CHECK(has_handler(command.op) == command.done());
  }
}

TEST_CASE("what is not done is this") {
  std::set<std::string> missing;
  for (const Command& command : opcodes) {
    if (!command.done()) missing.emplace(command.name);
  }
  for (const Command& command : specials) {
    if (!command.done()) missing.emplace(command.name);
  }
  CHECK(missing == std::set<std::string>{"enable DAPC sequence", "continuous up", "continuous down",
                                         "save persistent variables", "set operating mode",
                                         "reset memory bank", "enable write memory", "query operating mode",
                                         "query light source type", "query manufacturer specific mode",
                                         "read memory location", "physical selection",
                                         "write memory location", "write memory location without answer"});
}

TEST_CASE("frames are taken apart as they were put together") {
  for (std::uint8_t number = 0; number < 64; ++number) {
    const Said said = read(command_frame({Target::Kind::one, number}, 0xA0));
    CHECK(said.target == Target{Target::Kind::one, number});
    CHECK(said.command->name == "query actual level");
    CHECK(short_of(coded_short(number)) == number);
  }
  for (std::uint8_t group = 0; group < 16; ++group)
    CHECK(read(level_frame({Target::Kind::group, group}, 1)).target == Target{Target::Kind::group, group});
  CHECK(read(command_frame({Target::Kind::unaddressed, 0}, 0)).target.kind == Target::Kind::unaddressed);
  CHECK(short_of(0xFF) == no_short);
  CHECK_FALSE(short_of(0x02).has_value());
}

TEST_CASE("address bytes of the table in the reference sheet") {
  CHECK(level_frame({Target::Kind::all, 0}, 254).data == 0xFEFE);
  CHECK(command_frame({Target::Kind::all, 0}, 0x20).data == 0xFF20);
  CHECK(command_frame({Target::Kind::group, 3}, 0x05).data == 0x8705);
  CHECK(level_frame({Target::Kind::one, 5}, 0).data == 0x0A00);
  CHECK(command_frame({Target::Kind::unaddressed, 0}, 0x91).data == 0xFD91);
}

TEST_CASE("frames in words") {
  CHECK(in_words(special_frame(0xA5, 0xFF)) == "initialise those without an address");
  CHECK(in_words(special_frame(0xB7, coded_short(12))) == "program short address: 12");
  CHECK(in_words(command_frame({Target::Kind::group, 2}, 0x43)) == "set scene 3 to group 2");
  CHECK(in_words(answer_frame(254)) == "answer 254");
  CHECK(in_words({0x01FE30, 24}) == "24 bits 01FE30");
}

}  // namespace
