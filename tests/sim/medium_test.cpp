// The medium, promise by promise: frames and their check, who defers, who collides, who hears, what faults
// do.
#include "sim/medium.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "sim/random.h"
#include "tests/support/confidence.h"
#include "tests/support/medium_bench.h"
#include "tests/support/seeds.h"

namespace {

using drybus::sim::crc16;
using drybus::sim::Duration;
using drybus::sim::Frame;
using drybus::sim::Instant;
using drybus::sim::intact;
using drybus::sim::Link;
using drybus::sim::LinkState;
using drybus::sim::Loss;
using drybus::sim::MediumKind;
using drybus::sim::MediumNote;
using drybus::sim::MediumTiming;
using drybus::sim::Network;
using drybus::sim::NodeId;
using drybus::sim::Purpose;
using drybus::sim::sealed;
using drybus::sim::start_of_run;
using drybus::sim::Stream;
using drybus::test::chain;
using drybus::test::frame_of;
using drybus::test::MediumLog;
using drybus::test::millisecond_frames;
using drybus::test::network_of;
using namespace std::chrono_literals;

using Tags = std::vector<std::uint32_t>;
using Losses = std::vector<Loss>;

/// Seeds are fixed; a right medium passes each statistical check with this probability.
constexpr double confidence = 0.999;

Duration since_start(Instant at) {
  return at - start_of_run;
}

Frame with_bit_flipped(Frame frame, std::size_t bit) {
  frame.bytes[bit / 8] ^= static_cast<std::uint8_t>(0x80 >> bit % 8);
  return frame;
}

MediumLog line_bench(std::uint32_t count, const MediumTiming& timing = millisecond_frames(),
                     std::uint64_t seed = 1) {
  return MediumLog{network_of(count, chain(count), timing), seed};
}

MediumLog radio_bench(std::uint32_t count, std::vector<Link> links) {
  return MediumLog{network_of(count, std::move(links), millisecond_frames(), MediumKind::radio), 1};
}

}  // namespace

// --- frames ---

// Source: catalogue of parametrised CRC algorithms, CRC-16/XMODEM, check value over "123456789".
TEST_CASE("the CRC of 123456789 is the catalogue's check value of CRC-16/XMODEM") {
  const std::string text = "123456789";
  CHECK(crc16(std::vector<std::uint8_t>(text.begin(), text.end())) == 0x31c3);
  CHECK(crc16({}) == 0);
}

TEST_CASE("a sealed frame is intact and carries its payload with the CRC behind it, high byte first") {
  const std::array<std::uint8_t, 9> payload{'1', '2', '3', '4', '5', '6', '7', '8', '9'};
  const Frame frame = sealed(payload);
  CHECK(frame.size == 11);
  CHECK(std::equal(payload.begin(), payload.end(), frame.bytes.begin()));
  CHECK(frame.bytes[9] == 0x31);
  CHECK(frame.bytes[10] == 0xc3);
  CHECK(intact(frame));
  CHECK(intact(sealed(std::array<std::uint8_t, 13>{})));
  CHECK(intact(sealed(std::array<std::uint8_t, 1>{0xa5})));
  CHECK_FALSE(intact(Frame{}));
}

// Source: Peterson and Brown, "Cyclic codes for error detection", Proc. IRE 49, 1961: a CRC of 16 bits
// detects every burst of up to 16 bits; this polynomial, x + 1 times one of period 32767, every pair of
// errors within 32767 bits.
TEST_CASE("every one- and two-bit error of a seven-byte frame is detected") {
  for (const std::uint32_t tag : {0U, 0xffffffffU, 0x12345678U}) {
    const Frame frame = frame_of(tag);
    REQUIRE(frame.size == 7);
    std::size_t undetected = 0;
    for (std::size_t first = 0; first < 56; ++first) {
      const Frame one = with_bit_flipped(frame, first);
      undetected += intact(one) ? 1U : 0U;
      for (std::size_t second = first + 1; second < 56; ++second) {
        undetected += intact(with_bit_flipped(one, second)) ? 1U : 0U;
      }
    }
    CHECK(undetected == 0);
  }
}

TEST_CASE("every burst of up to sixteen bits in a seven-byte frame is detected") {
  const Frame frame = frame_of(0x12345678);
  std::size_t tried = 0;
  std::size_t undetected = 0;
  for (std::size_t first = 0; first < 56; ++first) {
    const std::size_t room = std::min<std::size_t>(16, 56 - first);
    // Every pattern that starts with an error at `first`.
    for (std::uint32_t pattern = 0; pattern < 1U << (room - 1); ++pattern) {
      Frame damaged = with_bit_flipped(frame, first);
      for (std::size_t i = 1; i < room; ++i) {
        if ((pattern >> (i - 1) & 1) != 0) damaged = with_bit_flipped(damaged, first + i);
      }
      ++tried;
      undetected += intact(damaged) ? 1U : 0U;
    }
  }
  CHECK(tried == 41 * 32768 + 32767);
  CHECK(undetected == 0);
}

// Source: ten bits per byte (8N1) over the bit rate.
TEST_CASE("a frame takes ten bits a byte, and its overhead, at the bit rate") {
  MediumTiming timing;
  Frame one_byte;
  one_byte.size = 1;
  CHECK(timing.frame_time(one_byte) == 1'041'667ns);
  timing.bit_rate = 115'200;
  CHECK(timing.frame_time(one_byte) == 86'806ns);
  timing.overhead_bits = 20;
  CHECK(timing.frame_time(one_byte) == 260'417ns);
  timing.bits_per_byte = 8;
  CHECK(timing.frame_time(one_byte) == 243'056ns);
}

// --- sending ---

TEST_CASE("a frame on a free medium begins at once and is heard by all when its last bit has passed") {
  MediumLog bench = line_bench(4);
  bench.send_at(3ms, 1, 77);
  bench.run_out();
  const std::vector<MediumLog::Note> expected{
      {start_of_run + 3ms, MediumNote::queued, 1, 1, 1, 77, 0},
      {start_of_run + 3ms, MediumNote::began, 1, 1, 1, 77, 1},
      {start_of_run + 4ms, MediumNote::ended, 1, 1, 0, 77, 2},
  };
  CHECK(bench.notes == expected);
  const Instant end = start_of_run + 4ms;
  CHECK(bench.heard ==
        std::vector<MediumLog::Heard>{{end, 0, 1, 77, 3}, {end, 2, 1, 77, 3}, {end, 3, 1, 77, 3}});
}

TEST_CASE("receivers are served in ascending order, and junctions not at all") {
  const std::array<NodeId, 1> junctions{2};
  MediumLog bench{network_of(6, {{5, 2}, {2, 0}, {2, 3}, {3, 1}, {1, 4}}, millisecond_frames(),
                             MediumKind::line, junctions),
                  1};
  bench.send(3, 1);
  bench.run_out();
  std::vector<NodeId> receivers;
  for (const MediumLog::Heard& one : bench.heard) receivers.push_back(one.receiver);
  CHECK(receivers == std::vector<NodeId>{0, 1, 4, 5});
  CHECK(bench.losses_of(2).empty());
}

TEST_CASE("a sender that senses a transmission defers and sends later") {
  MediumLog bench = line_bench(3);
  bench.send_at(0ms, 0, 1);
  bench.send_at(500us, 1, 2);
  bench.run_out();
  const auto deferred = bench.notes_of(MediumNote::deferred, 1);
  REQUIRE(!deferred.empty());
  CHECK(deferred[0].at == start_of_run + 500us);
  CHECK(deferred[0].detail == 1);
  CHECK(bench.heard_by(2) == Tags{1, 2});
  const auto began = bench.notes_of(MediumNote::began, 1);
  REQUIRE(began.size() == 1);
  CHECK(began[0].detail == deferred.size() + 1);
  CHECK(since_start(began[0].at) >= 1050us);
}

TEST_CASE("senders that do not listen never defer") {
  MediumTiming timing = millisecond_frames();
  timing.sense = false;
  MediumLog bench = line_bench(3, timing);
  bench.send_at(0ms, 0, 1);
  bench.send_at(500us, 1, 2);
  bench.run_out();
  CHECK(bench.notes_of(MediumNote::began, 1).at(0).at == start_of_run + 500us);
  CHECK(bench.losses_of(2) == Losses{Loss::collision, Loss::collision});
}

TEST_CASE("two senders inside the vulnerable window collide, just outside it they do not") {
  struct Case {
    Duration second;
    bool collide;
  };
  constexpr Case cases[] = {{0ns, true}, {1ns, true}, {49'999ns, true}, {50'000ns, false}, {50'001ns, false}};
  for (const Case& one : cases) {
    CAPTURE(one.second.count());
    MediumLog bench = line_bench(4);
    bench.send_at(0ns, 1, 1);
    bench.send_at(one.second, 2, 2);
    bench.run_out();
    if (one.collide) {
      for (const NodeId bystander : {NodeId{0}, NodeId{3}}) {
        CHECK(bench.heard_by(bystander).empty());
        CHECK(bench.losses_of(bystander) == Losses{Loss::collision, Loss::collision});
      }
      // Neither sender hears the other while it sends itself.
      CHECK(bench.losses_of(1) == Losses{Loss::collision});
      CHECK(bench.losses_of(2) == Losses{Loss::collision});
    } else {
      CHECK(bench.heard_by(0) == Tags{1, 2});
      CHECK(bench.heard_by(3) == Tags{1, 2});
    }
  }
}

TEST_CASE("the end of a transmission is sensed as late as its beginning was") {
  for (const Duration at : {1'000'000ns, 1'049'999ns, 1'050'000ns}) {
    CAPTURE(at.count());
    MediumLog bench = line_bench(3);
    bench.send_at(0ns, 0, 1);
    bench.send_at(at, 1, 2);
    bench.run_out();
    CHECK(bench.notes_of(MediumNote::deferred, 1).empty() == (at == 1'050'000ns));
    CHECK(bench.heard_by(2) == Tags{1, 2});
  }
}

TEST_CASE("a frame that begins as another ends does not collide with it, whichever is served first") {
  MediumTiming timing = millisecond_frames();
  timing.sense = false;
  MediumLog end_first = line_bench(3, timing);
  end_first.send(0, 1);
  end_first.send_at(1ms, 1, 2);
  MediumLog attempt_first = line_bench(3, timing);
  attempt_first.send_at(1ms, 1, 2);
  attempt_first.send(0, 1);
  for (MediumLog* bench : {&end_first, &attempt_first}) {
    bench->run_out();
    CHECK(bench->heard_by(2) == Tags{1, 2});
  }
}

TEST_CASE("a short overlap at the tail damages both frames") {
  MediumTiming timing = millisecond_frames();
  timing.sense = false;
  MediumLog bench = line_bench(3, timing);
  bench.send_at(0ns, 0, 1);
  bench.send_at(999'999ns, 1, 2);
  bench.send_at(3ms, 0, 3);
  bench.run_out();
  CHECK(bench.heard_by(2) == Tags{3});
}

TEST_CASE("three senders in a chain of overlaps lose all three frames") {
  MediumTiming timing = millisecond_frames();
  timing.sense = false;
  MediumLog bench = line_bench(4, timing);
  bench.send_at(0us, 0, 1);
  bench.send_at(700us, 1, 2);
  bench.send_at(1400us, 0, 3);  // overlaps the second frame, not the first
  bench.send_at(4ms, 1, 4);
  bench.run_out();
  CHECK(bench.heard_by(3) == Tags{4});
  CHECK(bench.losses_of(3) == Losses{Loss::collision, Loss::collision, Loss::collision});
}

TEST_CASE("frames of one sender go out in the order in which they were handed over") {
  MediumLog bench = line_bench(2);
  for (std::uint32_t tag = 1; tag <= 5; ++tag) bench.send(0, tag);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1, 2, 3, 4, 5});
}

TEST_CASE("without a gap frames follow one another bit on bit: a sender does not defer to itself") {
  MediumLog bench = line_bench(2);
  for (std::uint32_t tag = 1; tag <= 5; ++tag) bench.send(0, tag);
  bench.run_out();
  CHECK(bench.notes_of(MediumNote::deferred, 0).empty());
  CHECK(since_start(bench.now()) == 5ms);
}

TEST_CASE("a sender rests for the gap between frames, whether or not the second was already waiting") {
  MediumTiming timing = millisecond_frames();
  timing.gap = 5ms;
  for (const Duration handed_over : {500us, 1000us, 3000us, 5999us, 6000us}) {
    CAPTURE(handed_over.count());
    MediumLog bench = line_bench(3, timing);
    bench.send_at(0ms, 0, 1);
    bench.send_at(handed_over, 0, 2);
    bench.send_at(2ms, 1, 3);  // the gap binds nobody else
    bench.run_out();
    CHECK(bench.notes_of(MediumNote::began, 0).at(1).at == start_of_run + 6ms);
    CHECK(bench.notes_of(MediumNote::began, 1).at(0).at == start_of_run + 2ms);
  }
}

TEST_CASE("an outbox takes as many frames as its limit and drops the rest") {
  MediumTiming timing = millisecond_frames();
  timing.outbox_limit = 3;
  MediumLog bench = line_bench(2, timing);
  for (std::uint32_t tag = 1; tag <= 6; ++tag) bench.send(0, tag);  // one under way, three waiting
  const auto dropped = bench.notes_of(MediumNote::dropped, 0);
  REQUIRE(dropped.size() == 2);
  CHECK(dropped[0].tag == 5);
  CHECK(dropped[0].detail == 3);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1, 2, 3, 4});
  bench.send(0, 7);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1, 2, 3, 4, 7});
}

TEST_CASE("an outbox without a limit takes any number and counts them right again once they are fewer") {
  MediumTiming timing = millisecond_frames();
  timing.outbox_limit = 255;
  MediumLog bench = line_bench(2, timing);
  Tags sent;
  for (std::uint32_t tag = 1; tag <= 600; ++tag) {
    bench.send(0, tag);
    sent.push_back(tag);
  }
  CHECK(bench.medium.nodes()[0].waiting == 255);
  bench.run_to(500ms);
  CHECK(bench.medium.nodes()[0].waiting == bench.medium.waiting().size());
  bench.run_out();
  CHECK(bench.heard_by(1) == sent);
  CHECK(bench.medium.nodes()[0].waiting == 0);
}

// --- back-off ---

// Source: truncated binary exponential back-off, r uniform in 0 ... 2^min(n, doublings) - 1 (IEEE 802.3
// clause 4.2.3.2.5 bounds it by 10); the means 0.5, 1.5, 3.5 and 15.5 follow.
TEST_CASE("the n-th back-off is one slot and up to two to the n, at most so many times doubled") {
  MediumTiming timing = millisecond_frames();
  timing.bit_rate = 70;  // frames of a second, so that all attempts meet a busy medium
  timing.backoff_slot = 1us;
  timing.sense_delay = 0ns;
  timing.doublings = 5;
  timing.attempts = 8;
  timing.outbox_limit = 255;
  const std::uint32_t rivals = 100;
  MediumLog bench = line_bench(rivals + 1, timing);
  for (std::uint32_t tag = 0; tag < 60; ++tag) {
    bench.run_to(std::chrono::seconds{2 * tag});
    bench.send(rivals, tag);
    bench.run_until(bench.now() + 1ms);
    for (NodeId rival = 0; rival < rivals; ++rival) bench.send(rival, tag);
    bench.run_until(bench.now() + 100ms);
  }
  std::array<std::vector<double>, 9> counts;  // by n, of each r
  for (std::size_t n = 1; n < 8; ++n) counts[n].resize(std::size_t{1} << std::min<std::size_t>(n, 5));
  for (NodeId rival = 0; rival < rivals; ++rival) {
    const MediumLog::Note* previous = nullptr;
    std::size_t given_up = 0;
    for (const MediumLog::Note& note : bench.notes) {
      if (note.node != rival || note.note == MediumNote::queued) continue;
      REQUIRE((note.note == MediumNote::deferred || note.note == MediumNote::gave_up));
      if (previous != nullptr) {
        REQUIRE(note.detail == previous->detail + 1);
        REQUIRE((note.at - previous->at) % timing.backoff_slot == 0ns);
        counts.at(previous->detail)
            .at(static_cast<std::size_t>((note.at - previous->at) / timing.backoff_slot - 1)) += 1;
      }
      previous = note.note == MediumNote::deferred ? &note : nullptr;
      given_up += note.note == MediumNote::gave_up ? 1 : 0;
    }
    CHECK(given_up == 60);
  }
  const std::map<std::size_t, double> means{{1, 0.5},  {2, 1.5},  {3, 3.5}, {4, 7.5},
                                            {5, 15.5}, {6, 15.5}, {7, 15.5}};
  for (const auto& entry : means) {
    const std::size_t n = entry.first;
    const double expected = entry.second;
    CAPTURE(n);
    const auto range = static_cast<double>(counts[n].size());
    double sum = 0;
    for (std::size_t r = 0; r < counts[n].size(); ++r) sum += static_cast<double>(r) * counts[n][r];
    const double deviation = std::sqrt((range * range - 1) / 12);
    CHECK(std::abs(sum / 6000 - expected) < drybus::test::mean_tolerance(deviation, 6000, confidence));
    CHECK(drybus::test::chi_square_of_equal(counts[n]) <
          drybus::test::chi_square_limit(counts[n].size(), confidence));
  }
}

TEST_CASE("a sender gives up after so many attempts, and starts the next frame afresh") {
  MediumTiming timing = millisecond_frames();
  timing.bit_rate = 7'000;  // ten milliseconds a frame
  timing.backoff_slot = 10us;
  timing.attempts = 3;
  MediumLog bench = line_bench(3, timing);
  bench.send_at(0ms, 0, 1);
  bench.send_at(1ms, 1, 2);
  bench.send_at(1ms, 1, 3);
  bench.run_out();
  std::vector<std::pair<MediumNote, std::uint32_t>> told;
  for (const MediumLog::Note& note : bench.notes) {
    if (note.node == 1 && note.note != MediumNote::queued) told.emplace_back(note.note, note.detail);
  }
  using enum MediumNote;
  CHECK(told == std::vector<std::pair<MediumNote, std::uint32_t>>{
                    {deferred, 1}, {deferred, 2}, {gave_up, 3}, {deferred, 1}, {deferred, 2}, {gave_up, 3}});
  CHECK(bench.heard_by(2) == Tags{1});
  bench.run_to(20ms);
  bench.send(1, 4);
  CHECK(bench.notes_of(began, 1).at(0).detail == 1);
}

TEST_CASE("with no limit of attempts a sender never gives up") {
  MediumTiming timing = millisecond_frames();
  timing.bit_rate = 70;
  timing.backoff_slot = 10us;
  timing.doublings = 2;
  timing.attempts = 0;
  MediumLog bench = line_bench(3, timing);
  bench.send_at(0ms, 0, 1);
  bench.send_at(1ms, 1, 2);
  bench.run_out();
  CHECK(bench.notes_of(MediumNote::deferred, 1).size() > 10'000);
  CHECK(bench.heard_by(2) == Tags{1, 2});
}

TEST_CASE("however many doublings are asked for, a back-off ends") {
  MediumTiming timing = millisecond_frames();
  timing.bit_rate = 1;
  timing.backoff_slot = 1ns;
  timing.doublings = 255;
  timing.attempts = 0;
  MediumLog bench = line_bench(3, timing);
  bench.send_at(0ms, 0, 1);
  bench.send_at(1ms, 1, 2);
  bench.run_out();
  CHECK(bench.heard_by(2) == Tags{1, 2});
}

TEST_CASE("back-off draws belong to the node's owner: another node on the line shifts nobody's") {
  const auto deferrals = [](std::uint32_t count) {
    MediumTiming timing = millisecond_frames();
    timing.backoff_slot = 10us;
    timing.attempts = 6;
    MediumLog bench = line_bench(count, timing);
    bench.send_at(0ms, 0, 1);
    for (NodeId node = 1; node < count; ++node) bench.send_at(100us, node, node);
    bench.run_to(1ms);
    return bench.notes_of(MediumNote::deferred, 1);
  };
  const auto few = deferrals(2);
  const auto many = deferrals(9);
  REQUIRE(few.size() > 2);
  REQUIRE(few.size() == many.size());
  for (std::size_t i = 0; i < few.size(); ++i) CHECK(few[i].at == many[i].at);
}

// --- reach ---

TEST_CASE("hidden senders on radio collide where both are heard and nowhere else") {
  // 0 - 1 - 2 - 3: 1 hears 0 and 2; 0 and 2 do not hear each other; 3 hears 2 only.
  MediumLog bench = radio_bench(4, chain(4));
  bench.send_at(0ms, 0, 1);
  bench.send_at(500us, 2, 2);
  bench.run_out();
  CHECK(bench.notes_of(MediumNote::deferred, 2).empty());
  CHECK(bench.heard_by(1).empty());
  CHECK(bench.losses_of(1) == Losses{Loss::collision, Loss::collision});
  CHECK(bench.heard_by(3) == Tags{2});
  CHECK(bench.losses_of(3) == Losses{Loss::no_path});
  CHECK(bench.losses_of(0) == Losses{Loss::no_path});
}

TEST_CASE("radio goes one hop, and as far as a link is not open") {
  MediumLog bench = radio_bench(3, chain(3));
  bench.send(0, 1);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1});
  CHECK(bench.heard_by(2).empty());
  bench.set_link(0, LinkState::open);
  bench.send(0, 2);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1});
  bench.set_link(0, LinkState::sound);
  bench.send(0, 3);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1, 3});
}

TEST_CASE("an open link splits a line, and each part carries on without hearing the other") {
  MediumLog bench = line_bench(4);
  bench.set_link(1, LinkState::open);  // 0 - 1   2 - 3
  CHECK(bench.medium.link_state(1) == LinkState::open);
  CHECK(bench.medium.path(bench.network(), 0, 1));
  CHECK_FALSE(bench.medium.path(bench.network(), 1, 2));
  bench.send_at(0us, 0, 1);
  bench.send_at(500us, 2, 2);  // neither defers to the other nor collides with it
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1});
  CHECK(bench.heard_by(3) == Tags{2});
  CHECK(bench.notes_of(MediumNote::deferred, 2).empty());
  CHECK(bench.losses_of(1) == Losses{Loss::no_path});
  CHECK(bench.losses_of(3) == Losses{Loss::no_path});
  bench.set_link(1, LinkState::sound);
  CHECK(bench.medium == MediumLog{bench}.medium);
  bench.send(0, 3);
  bench.run_out();
  CHECK(bench.heard_by(3) == Tags{2, 3});
}

TEST_CASE("a short silences everything that is joined to it, but not what lies beyond an open link") {
  MediumLog bench = line_bench(6);
  bench.set_link(3, LinkState::open);     // 0 - 1 - 2 - 3   4 - 5
  bench.set_link(0, LinkState::shorted);  // a short between 0 and 1
  bench.send(2, 1);
  bench.send(4, 2);
  bench.run_out();
  CHECK(bench.heard_by(5) == Tags{2});
  CHECK(bench.heard.size() == 1);
  CHECK_FALSE(bench.medium.path(bench.network(), 2, 3));
  CHECK_FALSE(bench.medium.path(bench.network(), 2, 2));
  bench.set_link(3, LinkState::sound);
  CHECK_FALSE(bench.medium.path(bench.network(), 4, 5));
  bench.set_link(0, LinkState::sound);
  CHECK(bench.medium.path(bench.network(), 0, 5));
}

TEST_CASE("media of one network do not hear, defer to or damage one another") {
  const std::array<std::uint32_t, 4> owners{1, 2, 3, 4};
  Network network = drybus::sim::make_network({{MediumKind::line, millisecond_frames(), {0, 1}, {{0, 1}}},
                                               {MediumKind::line, millisecond_frames(), {2, 3}, {{2, 3}}}},
                                              owners, std::vector<bool>(4, false));
  MediumLog bench{std::move(network), 1};
  bench.send_at(0us, 0, 1);
  bench.send_at(500us, 2, 2);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{1});
  CHECK(bench.heard_by(3) == Tags{2});
  CHECK(bench.notes_of(MediumNote::deferred, 2).empty());
}

// --- noise ---

// Source: independent bit errors: a frame of 56 bits is lost with probability 1 - (1 - p)^56.
TEST_CASE(
    "a noisy link loses frames at the rate that its bit errors make, and errors add up along the path") {
  MediumTiming timing = millisecond_frames();
  timing.outbox_limit = 255;
  MediumLog bench = line_bench(4, timing);
  bench.set_link(1, LinkState::noisy, 1'000'000);   // 0.001 between 1 and 2
  bench.set_link(2, LinkState::noisy, 10'000'000);  // 0.010 between 2 and 3
  const double count = 20'000;
  for (std::uint32_t tag = 0; tag < 20'000; ++tag) {
    bench.send(0, tag);
    bench.run_out();
  }
  CHECK(bench.heard_by(1).size() == 20'000);
  const std::array<std::pair<NodeId, double>, 2> cases{{{2, 0.001}, {3, 0.011}}};
  for (const auto& entry : cases) {
    const NodeId receiver = entry.first;
    const double bit_error = entry.second;
    CAPTURE(receiver);
    const double expected = 1 - std::pow(1 - bit_error, 56);
    const auto lost = static_cast<double>(bench.losses_of(receiver).size());
    const double deviation = std::sqrt(expected * (1 - expected));
    CHECK(std::abs(lost / count - expected) < drybus::test::mean_tolerance(deviation, count, confidence));
    const Losses losses = bench.losses_of(receiver);
    CHECK(std::all_of(losses.begin(), losses.end(), [](Loss loss) { return loss == Loss::noise; }));
    // What passed the CRC is what was sent: tags rise.
    const Tags heard = bench.heard_by(receiver);
    CHECK(heard.size() + losses.size() == 20'000);
    CHECK(std::is_sorted(heard.begin(), heard.end()));
  }
}

TEST_CASE("error rates that add up to more than certainty are certainty") {
  MediumLog bench = line_bench(6);
  for (std::uint32_t link = 0; link < 4; ++link) bench.set_link(link, LinkState::noisy, 1'000'000'000);
  bench.set_link(4, LinkState::noisy, 294'967'296);  // all five: 2^32, which must not count as none
  bench.send(0, 1);
  bench.run_out();
  CHECK(bench.heard_by(5).empty());
  CHECK(bench.losses_of(5) == Losses{Loss::noise});
}

TEST_CASE("a radio link's noise is its own") {
  MediumLog bench = radio_bench(3, {{0, 1}, {0, 2}, {1, 2}});
  bench.set_link(0, LinkState::noisy, 500'000'000);
  for (std::uint32_t tag = 0; tag < 50; ++tag) {
    bench.send(0, tag);
    bench.run_out();
  }
  CHECK(bench.heard_by(2).size() == 50);
  CHECK(bench.heard_by(1).empty());
}

TEST_CASE("a deafened node misses as many frames as it was told to, and then hears again") {
  MediumLog bench = line_bench(3);
  bench.medium.deafen(1, 2);
  for (std::uint32_t tag = 1; tag <= 4; ++tag) bench.send(0, tag);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{3, 4});
  CHECK(bench.losses_of(1) == Losses{Loss::noise, Loss::noise});
  CHECK(bench.heard_by(2) == Tags{1, 2, 3, 4});
}

// --- power ---

TEST_CASE("a receiver without power hears nothing, and hears again when it has power") {
  MediumLog bench = line_bench(3);
  bench.set_power(1, false);
  bench.send(0, 1);
  bench.run_out();
  CHECK(bench.losses_of(1) == Losses{Loss::unpowered});
  CHECK(bench.heard_by(2) == Tags{1});
  bench.set_power(1, true);
  bench.send(0, 2);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{2});
}

TEST_CASE("a node without power passes the line on, and sends nothing") {
  MediumLog bench = line_bench(3);
  bench.set_power(1, false);
  bench.send(1, 1);
  CHECK(bench.notes_of(MediumNote::dropped, 1).size() == 1);
  bench.send(0, 2);
  bench.run_out();
  CHECK(bench.heard_by(2) == Tags{2});
}

TEST_CASE("a power cut in mid-frame cuts it short and empties the outbox") {
  MediumLog bench = line_bench(3);
  bench.send(0, 1);
  bench.send(0, 2);
  bench.send(0, 3);
  bench.run_to(500us);
  bench.set_power(0, false);
  CHECK(bench.queue.empty());
  CHECK(bench.losses_of(0) == Losses{Loss::cut_short});
  const auto dropped = bench.notes_of(MediumNote::dropped, 0);
  REQUIRE(dropped.size() == 2);
  CHECK(dropped[0].tag == 2);
  CHECK(dropped[1].tag == 3);
  CHECK(bench.medium.waiting().empty());
  bench.run_to(10ms);
  CHECK(bench.heard.empty());
  bench.set_power(0, true);
  bench.send(0, 4);
  bench.run_out();
  CHECK(bench.heard_by(1) == Tags{4});
}

TEST_CASE("a power cut while backing off takes the attempt away") {
  MediumLog bench = line_bench(3);
  bench.send(0, 1);
  bench.run_to(100us);
  bench.send(1, 2);
  bench.set_power(1, false);
  bench.run_out();
  CHECK(bench.heard_by(2) == Tags{1});
  CHECK(bench.medium.nodes()[1].attempts == 0);
}

TEST_CASE("a frame cut short still damages what it overlapped, and nothing afterwards") {
  MediumTiming timing = millisecond_frames();
  timing.sense = false;
  MediumLog bench = line_bench(3, timing);
  bench.send_at(0us, 0, 1);
  bench.send_at(500us, 1, 2);
  bench.run_to(1200us);  // the first has ended, the second has not
  CHECK(bench.losses_of(2) == Losses{Loss::collision});
  bench.set_power(1, false);
  bench.run_to(2ms);
  bench.send(0, 3);
  bench.run_out();
  CHECK(bench.heard_by(2) == Tags{3});

  MediumLog cut_first = line_bench(3, timing);
  cut_first.send_at(0us, 0, 1);
  cut_first.send_at(500us, 1, 2);
  cut_first.run_to(700us);
  cut_first.set_power(0, false);
  cut_first.run_out();
  CHECK(cut_first.losses_of(2) == Losses{Loss::collision});
}

TEST_CASE("a receiver that comes on in mid-frame misses that frame and hears the next") {
  MediumLog bench = line_bench(3);
  bench.set_power(1, false);
  bench.send(0, 1);
  bench.send(0, 2);
  bench.run_to(500us);
  bench.set_power(1, true);
  bench.run_out();
  CHECK(bench.losses_of(1) == Losses{Loss::unpowered});
  CHECK(bench.heard_by(1) == Tags{2});
  CHECK(bench.heard_by(2) == Tags{1, 2});
}

TEST_CASE("a receiver that blinks off and on in mid-frame misses that frame") {
  MediumLog bench = line_bench(2);
  bench.send(0, 1);
  bench.run_to(500us);
  bench.set_power(1, false);
  bench.set_power(1, true);
  bench.run_out();
  CHECK(bench.heard_by(1).empty());
}

TEST_CASE("who is joined to the sender in mid-frame misses that frame and hears the next") {
  for (const LinkState broken : {LinkState::open, LinkState::shorted}) {
    MediumLog bench = line_bench(4);
    bench.set_link(1, broken);
    bench.send(0, 1);
    bench.send(0, 2);
    bench.run_to(500us);
    bench.set_link(1, LinkState::sound);
    bench.run_out();
    CHECK(bench.heard_by(2) == Tags{2});
    CHECK(bench.losses_of(3) == Losses{Loss::no_path});
  }
}

// --- the medium as a value ---

TEST_CASE("a fork in mid-collision has the same future, and the forks do not disturb each other") {
  MediumTiming timing = millisecond_frames();
  timing.backoff_slot = 100us;
  MediumLog bench = line_bench(6, timing);
  bench.set_link(4, LinkState::noisy, 3'000'000);
  for (std::uint32_t i = 0; i < 200; ++i) bench.send_at(i * 700us, static_cast<NodeId>(i % 5), i);
  const auto sending = [&] {
    const auto nodes = bench.medium.nodes();
    return std::count_if(nodes.begin(), nodes.end(), [](const auto& node) { return node.sending != 0; });
  };
  while (sending() < 2) {
    REQUIRE(!bench.queue.empty());
    bench.step();
  }
  MediumLog fork = bench;
  CHECK(fork.medium == bench.medium);
  CHECK(fork.queue == bench.queue);
  bench.run_out();
  CHECK(fork.medium != bench.medium);
  MediumLog with_a_fault = fork;
  with_a_fault.set_power(0, false);
  with_a_fault.run_out();
  fork.run_out();
  CHECK(fork.notes == bench.notes);
  CHECK(fork.heard == bench.heard);
  CHECK(fork.medium == bench.medium);
  CHECK(fork.queue == bench.queue);
  CHECK(with_a_fault.heard != bench.heard);
}

TEST_CASE("a run is the same every time, and another with another seed") {
  const auto run = [](std::uint64_t seed) {
    MediumLog bench = line_bench(5, millisecond_frames(), seed);
    for (std::uint32_t i = 0; i < 100; ++i) bench.send_at(i * 400us, static_cast<NodeId>(i % 4), i);
    bench.run_out();
    return bench.notes;
  };
  CHECK(run(1) == run(1));
  CHECK(run(1) != run(2));
}

// --- against a plain twin ---

namespace {

/// What must come of every transmission, worked out the plain way: the whole history is kept and searched.
class Witness {
 public:
  struct Sent {
    Instant begin{};
    Instant end{};
    NodeId node = 0;
    std::uint32_t tag = 0;
    std::vector<bool> audible = {};   ///< by receiver: throughout
    std::vector<bool> heard_by = {};  ///< by receiver: as the medium told
    std::vector<bool> expected = {};
    /// By receiver: who was heard there while both were on, whatever came of them then.
    std::vector<std::vector<std::size_t>> rivals = {};
  };

  /// To be called after everything that is done to the bench.
  void look(const MediumLog& bench) {
    for (; next_note_ < bench.notes.size(); ++next_note_) take(bench, bench.notes[next_note_]);
    for (; next_heard_ < bench.heard.size(); ++next_heard_) {
      const MediumLog::Heard& one = bench.heard[next_heard_];
      sent_.at(last_of_.at(one.sender)).heard_by.at(one.receiver) = true;
    }
    for (const auto& [node, index] : last_of_) {
      Sent& sent = sent_[index];
      if (sent.end != drybus::sim::never) continue;
      for (NodeId receiver = 0; receiver < sent.audible.size(); ++receiver) {
        if (!audible(bench, node, receiver)) sent.audible[receiver] = false;
        note_rivals_at(bench, sent, receiver);
      }
    }
  }

  void step_until(MediumLog& bench, Instant until) {
    while (bench.queue.next_at() <= until) {
      bench.step();
      look(bench);
    }
    bench.run_until(until);
  }

  [[nodiscard]] std::size_t collisions() const { return collisions_; }
  [[nodiscard]] bool agreed() const {
    return std::all_of(sent_.begin(), sent_.end(), [](const Sent& s) { return s.heard_by == s.expected; });
  }

 private:
  static bool audible(const MediumLog& bench, NodeId from, NodeId to) {
    return bench.medium.nodes()[to].powered != 0 && bench.medium.path(bench.network(), from, to);
  }

  void take(const MediumLog& bench, const MediumLog::Note& note) {
    const std::size_t count = bench.medium.nodes().size();
    if (note.note == MediumNote::began) {
      last_of_[note.node] = sent_.size();
      sent_.push_back({note.at, drybus::sim::never, note.node, note.tag, std::vector<bool>(count, true),
                       std::vector<bool>(count, false), std::vector<bool>(count, false),
                       std::vector<std::vector<std::size_t>>(count)});
    } else if (note.note == MediumNote::ended) {
      Sent& sent = sent_.at(last_of_.at(note.node));
      sent.end = note.at;
      for (NodeId receiver = 0; receiver < count; ++receiver)
        sent.expected[receiver] = hears(bench, sent, receiver);
    } else if (note.note == MediumNote::lost && note.detail == static_cast<std::uint32_t>(Loss::cut_short)) {
      sent_.at(last_of_.at(note.node)).end = note.at;
    }
  }

  void note_rivals_at(const MediumLog& bench, Sent& sent, NodeId receiver) {
    for (const auto& [node, index] : last_of_) {
      const bool on = node != sent.node && node != receiver && sent_[index].end == drybus::sim::never;
      if (on && bench.medium.path(bench.network(), node, receiver)) sent.rivals[receiver].push_back(index);
    }
  }

  bool hears(const MediumLog& bench, const Sent& sent, NodeId receiver) {
    if (receiver == sent.node || bench.network().nodes[receiver].passive) return false;
    if (!sent.audible[receiver] || !audible(bench, sent.node, receiver)) return false;
    const bool hit =
        std::any_of(sent.rivals[receiver].begin(), sent.rivals[receiver].end(),
                    [&](std::size_t index) {
                      const Sent& other = sent_[index];
                      return other.begin < other.end && other.begin < sent.end && sent.begin < other.end;
                    }) ||
        std::any_of(sent_.begin(), sent_.end(), [&](const Sent& other) {
          return &other != &sent && other.begin < other.end && other.begin < sent.end &&
                 sent.begin < other.end &&
                 (other.node == receiver || bench.medium.path(bench.network(), other.node, receiver));
        });
    collisions_ += hit ? 1 : 0;
    return !hit;
  }

  std::vector<Sent> sent_;
  std::map<NodeId, std::size_t> last_of_;
  std::size_t next_note_ = 0;
  std::size_t next_heard_ = 0;
  std::size_t collisions_ = 0;
};

/// Whether a signal of `from` gets to `to` on a line, by flooding.
bool flooded_path(const MediumLog& bench, NodeId from, NodeId to) {
  std::vector<NodeId> group{from};
  bool shorted = false;
  for (std::size_t i = 0; i < group.size(); ++i) {
    for (const std::uint32_t index : bench.network().nodes[group[i]].links) {
      const LinkState state = bench.medium.link_state(index);
      if (state == LinkState::open) continue;
      shorted = shorted || state == LinkState::shorted;
      const Link& link = bench.network().links[index];
      const NodeId other = link.a == group[i] ? link.b : link.a;
      if (std::find(group.begin(), group.end(), other) == group.end()) group.push_back(other);
    }
  }
  return !shorted && std::find(group.begin(), group.end(), to) != group.end();
}

bool paths_to_agree(const MediumLog& bench, NodeId to) {
  if (bench.network().media[0].kind == MediumKind::radio) return true;
  for (NodeId from = 0; from < bench.medium.nodes().size(); ++from) {
    if (flooded_path(bench, from, to) != bench.medium.path(bench.network(), from, to)) return false;
  }
  return true;
}

/// A random tree of nodes, or random pairs within range.
std::vector<Link> random_links(std::uint32_t count, MediumKind kind, Stream& stream) {
  std::vector<Link> links;
  for (NodeId node = 1; node < count; ++node) {
    for (NodeId other = 0; kind == MediumKind::radio && other < node; ++other) {
      if (stream.below(2) == 0) links.push_back({other, node});
    }
    if (kind == MediumKind::line) links.push_back({static_cast<NodeId>(stream.below(node)), node});
  }
  return links;
}

/// One random thing done to the bench. Times are quarters of a frame, so that ties abound.
void act_at_random(MediumLog& bench, Stream& stream, std::uint32_t tag) {
  const auto node = static_cast<NodeId>(stream.below(bench.medium.nodes().size()));
  const std::uint64_t choice = stream.below(20);
  if (choice < 16) {
    bench.send_at(since_start(bench.now()) + static_cast<std::int64_t>(stream.below(9)) * 250us, node, tag);
  } else if (choice < 18) {
    bench.set_power(node, bench.medium.nodes()[node].powered == 0);
  } else if (!bench.network().links.empty()) {
    const auto link = static_cast<std::uint32_t>(stream.below(bench.network().links.size()));
    constexpr std::array states{LinkState::sound, LinkState::sound, LinkState::open, LinkState::shorted};
    bench.set_link(link, states[stream.below(bench.medium.impairments().empty() ? 4 : 2)]);
  }
}

MediumLog random_bench(std::uint64_t seed, Stream& stream) {
  MediumTiming timing = millisecond_frames();
  timing.sense = stream.below(2) == 0;
  timing.sense_delay = static_cast<std::int64_t>(stream.below(4)) * 250us;
  timing.gap = static_cast<std::int64_t>(stream.below(3)) * 250us;
  timing.backoff_slot = 250us;
  timing.attempts = static_cast<std::uint8_t>(1 + stream.below(5));
  timing.outbox_limit = static_cast<std::uint8_t>(1 + stream.below(4));
  const auto count = static_cast<std::uint32_t>(2 + stream.below(6));
  const MediumKind kind = stream.below(3) == 0 ? MediumKind::radio : MediumKind::line;
  return MediumLog{network_of(count, random_links(count, kind, stream), timing, kind), seed};
}

/// Every frame that was handed over was sent, given up or dropped, once.
bool all_frames_accounted_for(const MediumLog& bench) {
  std::map<std::uint32_t, std::size_t> fates;
  for (const MediumLog::Note& note : bench.notes) {
    using enum MediumNote;
    if (note.note == queued) fates[note.tag] += 0;
    if (note.note == began || note.note == gave_up || note.note == dropped) fates[note.tag] += 1;
  }
  return std::all_of(fates.begin(), fates.end(), [](const auto& fate) { return fate.second == 1; });
}

/// Every frame that ended was heard or missed by every other node, once.
bool all_receptions_accounted_for(const MediumLog& bench) {
  std::size_t expected = 0;
  std::size_t told = bench.heard.size();
  for (const MediumLog::Note& note : bench.notes) {
    if (note.note == MediumNote::ended) expected += bench.medium.nodes().size() - 1;
    if (note.note == MediumNote::lost && note.node != note.sender) ++told;
  }
  return told == expected;
}

}  // namespace

TEST_CASE(
    "whatever is done to a medium, every receiver hears what a plain twin says and every frame is accounted "
    "for") {
  std::size_t collisions = 0;
  std::size_t heard = 0;
  for (const std::uint64_t seed : drybus::test::seeds(2000)) {
    INFO(drybus::test::replay(seed, "whatever is done to a medium*"));
    Stream stream{seed, Purpose::generator, 1};
    MediumLog bench = random_bench(seed, stream);
    Witness witness;
    bool paths_agree = true;
    for (std::uint32_t tag = 0; tag < 120; ++tag) {
      act_at_random(bench, stream, tag);
      witness.look(bench);
      witness.step_until(bench, bench.now() + static_cast<std::int64_t>(stream.below(13)) * 125us);
      const auto to = static_cast<NodeId>(tag % bench.medium.nodes().size());
      paths_agree = paths_agree && paths_to_agree(bench, to);
    }
    witness.step_until(bench, bench.now() + 1s);
    CHECK(bench.queue.empty());
    CHECK(bench.medium.waiting().empty());
    CHECK(bench.medium.missed().empty());
    CHECK(paths_agree);
    CHECK(witness.agreed());
    CHECK(all_frames_accounted_for(bench));
    CHECK(all_receptions_accounted_for(bench));
    collisions += witness.collisions();
    heard += bench.heard.size();
  }
  if (std::getenv("DRYBUS_SEED") != nullptr) return;
  // The runs are worth something: both happened often.
  CHECK(collisions > 20'000);
  CHECK(heard > 20'000);
}
