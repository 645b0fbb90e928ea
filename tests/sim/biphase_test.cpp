// Bi-phase frames on a wired AND: lengths and tolerances from the reference sheet (a driver's timing header that cites
// 62386-101:2022, tables 4 and 18).
#include "sim/biphase.h"

#include <doctest/doctest.h>

#include <cmath>

namespace {

using namespace drybus::sim;

constexpr BiphaseTiming line{};
constexpr Instant start = start_of_run + 1s;

TEST_CASE("frames of 8, 16 and 24 bits last 7.5, 14.167 and 20.833 ms") {
  CHECK(std::abs(seconds(length(line, {0, 8})) - 0.0075) < 1e-6);
  CHECK(std::abs(seconds(length(line, {0, 16})) - 0.014167) < 1e-6);
  CHECK(std::abs(seconds(length(line, {0, 24})) - 0.020833) < 1e-6);
}

TEST_CASE("whatever is sent is read again, whatever its bits") {
  for (const std::uint8_t bits : std::initializer_list<std::uint8_t>{1, 8, 16, 24, 32}) {
    for (const std::uint32_t pattern : {0U, 0xFFFFFFFFU, 0xA5A5A5A5U, 0x12345678U, 1U}) {
      const BitFrame frame{bits == 32 ? pattern : pattern & ((1U << bits) - 1), bits};
      const Edges edges = edges_of(line, frame, start);
      CHECK(edges.size() % 2 == 0);
      CHECK(edges.front() == start);
      CHECK(decode(line, edges) == Heard{Heard::Kind::whole, frame});
    }
  }
}

TEST_CASE("the start bit falls first and rises half a bit later") {
  const Edges edges = edges_of(line, {0, 8}, start);
  CHECK(edges[1] - edges[0] == half_bits(line, 1));
}

TEST_CASE("edges too close or too far apart are no frame") {
  Edges edges = edges_of(line, {0x55, 8}, start);
  edges[3] += 200us;  // of alternating bits every edge is a whole bit from the next, and at most 1000 us are read as that
  CHECK(decode(line, edges).kind == Heard::Kind::garbled);
  CHECK(decode(line, {}).kind == Heard::Kind::silence);
  const Edges lone = {start, start + 300us};
  CHECK(decode(line, lone).kind == Heard::Kind::garbled);
}

Heard both(std::uint32_t first, std::uint32_t second, Duration apart) {
  const std::vector<Edges> senders = {edges_of(line, {first, 8}, start),
                                      edges_of(line, {second, 8}, start + apart)};
  return decode(line, wired_and(senders));
}

TEST_CASE("the same answer twice at once is one, as long as nobody can tell them apart") {
  CHECK(both(0xFF, 0xFF, 0us) == Heard{Heard::Kind::whole, {0xFF, 8}});
  CHECK(both(0x7A, 0x7A, 80us) == Heard{Heard::Kind::whole, {0x7A, 8}});
  CHECK(both(0xFF, 0xFF, 90us).kind == Heard::Kind::garbled);
}

TEST_CASE(
    "beyond the most spread no frame of that length can be read, whatever is sent and however far apart") {
  int read_as_one = 0;
  for (auto apart = most_spread(line) + 1us; apart < 5ms; apart += 17us) {
    for (std::uint32_t value = 0; value < 256; ++value) {
      const Heard heard = both(value, value, apart);
      if (heard.kind == Heard::Kind::whole && heard.frame.bits == 8) ++read_as_one;
    }
  }
  CHECK(read_as_one == 0);
  // A whole bit later all ones are a longer frame of ones.
  CHECK(both(0xFF, 0xFF, half_bits(line, 2)).frame.bits == 9);
}

TEST_CASE("different answers garble one another") {
  CHECK(both(0xFF, 0x00, 0us).kind == Heard::Kind::garbled);
  CHECK(both(0x0F, 0x0E, 0us).kind == Heard::Kind::garbled);
}

TEST_CASE("the line is low while anybody pulls") {
  const std::vector<Edges> senders = {
      {start, start + 400us}, {start + 400us, start + 700us}, {start + 900us, start + 950us}};
  CHECK(wired_and(senders) == Edges{start, start + 700us, start + 900us, start + 950us});
}

}  // namespace
