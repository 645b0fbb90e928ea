#include <doctest/doctest.h>

#include <filesystem>

#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"
#include "tools/base/unusable.h"
#include "tools/export/capture_reader.h"
#include "tools/export/pcapng.h"
#include "tools/export/transmissions.h"

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;
using namespace std::string_literals;
using tools::Capture;
using tools::CapturedTelegram;
using tools::parse_capture;

namespace {

/// Telegrams that are heard, collide, meet a broken link, a dead receiver and a sender that loses its power.
model::Scenario troubled_scenario() {
  model::Scenario scenario = small_scenario(3, 2);
  scenario.title = "trouble";
  sim::MediumSpec line = scenario.site.network.media[0];
  line.timing.sense_delay = 1ms;
  model::build_network(scenario.site, {line});
  Script script{scenario};
  script.at(1s).press("P1", off, 100ms).wait(1s);
  model::Fault fault;
  fault.kind = model::FaultKind::open;
  fault.link = 2;  // M1 - M2
  script.fault(fault).press("P1", off, 100ms).wait(1s).power("M1", false).press("P1", accept, 100ms).wait(1s);
  script.at(8s).press("P1", off, 3ms).power("P1", false).wait(1s);
  scenario.people.push_back({"mate", 0, {}});
  Script{scenario, 1}.at(1s).press("P2", off, 100ms);
  scenario.times.pause = 0ms;
  return scenario;
}

std::string refusal_of(const std::string& bytes) {
  try {
    parse_capture("x.pcapng", bytes);
  } catch (const tools::Unusable& error) {
    return error.what();
  }
  return "";
}

std::string little(std::uint32_t number, int bytes) {
  std::string text;
  for (int i = 0; i < bytes; ++i) text += static_cast<char>(number >> (8 * i) & 0xff);
  return text;
}
std::string big(std::uint32_t number, int bytes) {
  const std::string text = little(number, bytes);
  return {text.rbegin(), text.rend()};
}

}  // namespace

TEST_SUITE("exports") {
  TEST_CASE("a capture read back holds every transmission of the run with what became of it") {
    const model::Scenario scenario = troubled_scenario();
    const model::RunResult result = model::run(scenario);
    const auto sent = tools::transmissions(result.record);
    const Capture capture = parse_capture("x", tools::pcapng(scenario, result.record));
    REQUIRE(capture.buses.size() == 1);
    CHECK(capture.buses[0].name == "bus");
    CHECK(capture.buses[0].bit_rate == 9600);
    REQUIRE(capture.telegrams.size() == sent.size());
    for (std::size_t i = 0; i < sent.size(); ++i) {
      const CapturedTelegram& telegram = capture.telegrams[i];
      CHECK(telegram.at == result.record[sent[i].sent].at);
      CHECK(telegram.node == sent[i].sender);
      CHECK(telegram.sender == scenario.site.name(sent[i].sender));
      CHECK(telegram.telegram == sent[i].telegram);
      CHECK(telegram.cut_short == sent[i].cut_short);
      REQUIRE(telegram.lost.size() == sent[i].lost.size());
      for (std::size_t k = 0; k < telegram.lost.size(); ++k) {
        const sim::Entry& lost = result.record[sent[i].lost[k]];
        CHECK(telegram.lost[k] ==
              tools::CapturedLoss{scenario.site.name(lost.who), lost.who, model::why_lost(lost)});
      }
    }
  }

  TEST_CASE("a capture tells collisions, broken links, dead receivers and senders that lost their power") {
    const model::Scenario scenario = troubled_scenario();
    const model::RunResult result = model::run(scenario);
    const Capture capture = parse_capture("x", tools::pcapng(scenario, result.record));
    REQUIRE(capture.telegrams.size() >= 5);
    const auto& both = capture.telegrams;
    CHECK(both[0].collided);
    CHECK(both[1].collided);
    CHECK(both[0].lost.size() == 4);  // the other plate was sending, and the modules heard both
    CHECK(both[0].lost[0].loss == sim::Loss::collision);
    const CapturedTelegram& broken = capture.telegrams[2];
    CHECK_FALSE(broken.collided);
    REQUIRE(broken.lost.size() == 2);
    CHECK(broken.lost[0] == tools::CapturedLoss{"M2", 3, sim::Loss::no_path});
    CHECK(broken.comment.find("M2 missed") != std::string::npos);
    const CapturedTelegram& dark = capture.telegrams[3];
    CHECK(dark.lost[0] == tools::CapturedLoss{"M1", 2, sim::Loss::unpowered});
    CHECK(capture.telegrams.back().cut_short);
    CHECK(capture.telegrams.back().lost.empty());
  }

  TEST_CASE("a capture that an analyser filtered and saved again is read with all that it kept") {
    const model::Scenario scenario = troubled_scenario();
    const model::RunResult result = model::run(scenario);
    const std::string whole = tools::pcapng(scenario, result.record);
    const Folder folder;
    const std::string command = "tshark -r " + folder.write("whole.pcapng", whole) +
                                " -Y 'frame.number > 2' -w " + folder.file("part.pcapng");
    REQUIRE(shell(command).exit_code == 0);
    const Capture before = parse_capture("x", whole);
    const Capture after = tools::read_capture(folder.file("part.pcapng"));
    REQUIRE(after.telegrams.size() == before.telegrams.size() - 2);
    CHECK(after.buses == before.buses);
    for (std::size_t i = 0; i < after.telegrams.size(); ++i) {
      const CapturedTelegram& kept = after.telegrams[i];
      const CapturedTelegram& original = before.telegrams[i + 2];
      CHECK(kept.at == original.at);
      CHECK(kept.sender == original.sender);
      CHECK(kept.telegram == original.telegram);
      CHECK(kept.comment == original.comment);
      CHECK(kept.cut_short == original.cut_short);
      CHECK(kept.lost == original.lost);
    }
  }

  TEST_CASE("a telegram that the run's end overtakes is marked as unfinished") {
    model::Scenario scenario = small_scenario(1);
    Script{scenario}.at(1s).press("P1", accept, 2ms);
    scenario.times.pause = 0ms;
    // The press is told apart at its release, so that the telegram's first bit is the last thing of the run.
    const model::RunResult result = model::run(scenario);
    const Capture capture = parse_capture("x", tools::pcapng(scenario, result.record));
    REQUIRE(capture.telegrams.size() == 1);
    CHECK(capture.telegrams[0].unfinished);
    CHECK(capture.telegrams[0].comment.find("the run ended first") != std::string::npos);
  }

  TEST_CASE("no cut and no changed byte of a capture does more than be refused") {
    const model::Scenario scenario = troubled_scenario();
    const std::string whole = tools::pcapng(scenario, model::run(scenario).record);
    std::size_t refused = 0;
    for (std::size_t length = 0; length < whole.size(); ++length) {
      if (!refusal_of(whole.substr(0, length)).empty()) ++refused;
    }
    CHECK(refused > whole.size() * 9 / 10);  // cuts between two blocks leave a capture
    for (const std::uint64_t seed : test::seeds(20)) {
      INFO(test::replay(seed, "no cut and no changed byte of a capture does more than be refused"));
      sim::Stream random{seed, sim::Purpose::generator, 1, 0};
      for (int i = 0; i < 500; ++i) {
        std::string changed = whole;
        for (int k = 0; k < 3; ++k)
          changed[random.below(changed.size())] = static_cast<char>(random.below(256));
        CHECK_NOTHROW(refusal_of(changed));
      }
    }
  }

  TEST_CASE("what is no capture of ours is refused with the byte where it ceases to be one") {
    CHECK(refusal_of("") == "x.pcapng: byte 0: the file is empty");
    CHECK(refusal_of("GIF89a..........") == "x.pcapng: byte 0: this is no pcapng file");
    CHECK(refusal_of("\x0a\x0d\x0d\x0a\x1c") == "x.pcapng: byte 4: a section's header is cut off");
    const model::Scenario scenario = troubled_scenario();
    std::string whole = tools::pcapng(scenario, model::run(scenario).record);
    const std::size_t at = whole.find("\x93\0\0\0"s);  // link type 147
    REQUIRE(at != std::string::npos);
    whole[at] = 1;
    CHECK(refusal_of(whole).find("a packet of link type 1; captures of drybus have 147") !=
          std::string::npos);
    CHECK_THROWS_AS(tools::read_capture("/nowhere/x.pcapng"), tools::Unusable);
    CHECK_THROWS_AS(tools::read_capture("/dev/zero"), tools::Unusable);
  }

  TEST_CASE("a capture that another machine wrote high byte first, in microseconds, reads alike") {
    const std::string frame = "\x04\x17\x04\x01"s + std::string(1, '\0') +
                              "\x2c\x7d";  // assign 23/4/1, its CRC as the Lua dissector has it
    const std::string data =
        "\x01"s + std::string(1, '\0') + big(7, 2) + big(7, 2) + big(2, 2) + "P1" + frame;
    const std::string padded = data + std::string((4 - data.size() % 4) % 4, '\0');
    const auto block = [](std::uint32_t type, const std::string& body) {
      const auto length = static_cast<std::uint32_t>(body.size() + 12);
      return big(type, 4) + big(length, 4) + body + big(length, 4);
    };
    const std::string section =
        block(0x0a0d0d0a, big(0x1a2b3c4d, 4) + big(1, 2) + big(0, 2) + std::string(8, '\xff'));
    const std::string interface = block(1, big(147, 2) + big(0, 2) + big(0, 4));
    const auto length = static_cast<std::uint32_t>(data.size());
    const std::string packet =
        block(6, big(0, 4) + big(0, 4) + big(1'500'000, 4) + big(length, 4) + big(length, 4) + padded);
    const std::string other = block(0x0bad, big(32473, 4));  // a block of a kind that we do not know
    const Capture capture = parse_capture("x", section + interface + other + packet);
    REQUIRE(capture.telegrams.size() == 1);
    CHECK(capture.telegrams[0].at == sim::start_of_run + 1500ms);
    CHECK(capture.telegrams[0].node == 7);
    CHECK(capture.telegrams[0].sender == "P1");
    CHECK(capture.telegrams[0].telegram == model::Telegram{model::TelegramKind::assign, 23, 4, 1, 0});
  }

  TEST_CASE("a capture of a thousand interfaces more than any site has is refused, quickly") {
    std::string bytes = little(0x0a0d0d0a, 4) + little(28, 4) + little(0x1a2b3c4d, 4) + little(1, 2) +
                        little(0, 2) + std::string(8, '\xff') + little(28, 4);
    for (int i = 0; i < 6000; ++i) {
      bytes += little(1, 4) + little(32, 4) + little(147, 2) + little(0, 2) + little(0, 4) + little(2, 2) +
               little(4, 2) + std::to_string(1000 + i) + little(0, 4) + little(32, 4);
    }
    CHECK(refusal_of(bytes).find("more than 4096 interfaces") != std::string::npos);
  }
}
