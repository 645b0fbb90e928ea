// Time set in rows.
#include "tools/picture/axis.h"

#include <doctest/doctest.h>

#include "sim/random.h"
#include "tests/support/seeds.h"

namespace {

using namespace drybus;
using namespace drybus::tools::picture;
using namespace std::chrono_literals;

sim::Instant at(sim::Duration after) {
  return sim::start_of_run + after;
}

AxisRequest request(std::vector<sim::Duration> knots, double width = 1000) {
  AxisRequest request;
  request.from = at(knots.front());
  request.to = at(knots.back());
  request.width = width;
  request.tracks = 3;
  request.break_width = [](sim::Duration) { return 50.0; };
  for (const sim::Duration knot : knots) request.knots.push_back({at(knot)});
  return request;
}

TEST_CASE("a long wait is drawn short, with a break; a short one is not broken") {
  const Axis axis = set_axis(request({0s, 1s, 6s, 3606s, 3607s}));
  REQUIRE(axis.rows.size() == 1);
  const AxisRow& row = axis.rows.front();
  REQUIRE(row.breaks.size() == 1);
  CHECK(row.breaks.front().from == at(6s));
  CHECK(row.breaks.front().to == at(3606s));
  CHECK(row.x(at(6s)) < row.breaks.front().left);
  CHECK(row.breaks.front().right < row.x(at(3606s)));
  const double hour = row.x(at(3606s)) - row.x(at(6s));
  const double second = row.x(at(1s)) - row.x(at(0s));
  CHECK(hour < 20 * second);
}

TEST_CASE("time never runs backwards, and the longer of two waits is never drawn shorter") {
  const Axis axis = set_axis(request({0s, 7ms, 207ms, 507ms, 1507ms, 4s, 9s}));
  const AxisRow& row = axis.rows.front();
  double before = 0;
  for (std::size_t i = 1; i < row.points.size(); ++i) {
    const double gap = row.points[i].x - row.points[i - 1].x;
    CHECK(gap >= before);
    before = gap;
  }
}

TEST_CASE("labels of one track have room one after the other, also where their moments are close") {
  AxisRequest asked = request({0s, 10ms, 20ms, 30ms, 5s});
  for (const auto moment : {0ms, 10ms, 20ms, 30ms}) asked.slots.push_back({at(moment), 1, 120});
  const AxisRow row = set_axis(asked).rows.front();
  REQUIRE(row.slot_x.size() == 4);
  for (std::size_t i = 1; i < 4; ++i) CHECK(row.slot_x[i] >= row.slot_x[i - 1] + 120);
  for (std::size_t i = 0; i < 4; ++i) CHECK(row.slot_x[i] >= row.x(asked.slots[i].at));
}

TEST_CASE("a full row goes on below: every moment and every label is in one row, in order") {
  for (const std::uint64_t seed : test::seeds(60)) {
    INFO(
        test::replay(seed, "a full row goes on below: every moment and every label is in one row, in order"));
    sim::Stream stream{seed, sim::Purpose::generator, 0, 0};
    std::vector<sim::Duration> knots{0s};
    for (std::uint64_t i = stream.below(300); i > 0; --i) {
      const sim::Duration steps[] = {1ms, 200ms, 3s, 50s, 4h};
      knots.push_back(knots.back() + steps[stream.below(5)] +
                      sim::Duration{static_cast<std::int64_t>(1 + stream.below(1000))});
    }
    AxisRequest asked = request(knots);
    for (const Knot& knot : asked.knots) {
      if (stream.below(2) == 0) {
        asked.slots.push_back({knot.at, static_cast<std::uint32_t>(stream.below(3)),
                               10 + static_cast<double>(stream.below(150))});
      }
    }
    asked.opening = [](sim::Instant moment) { return std::vector<Slot>{{moment, 2, 80}}; };
    const Axis axis = set_axis(asked);
    CHECK(axis.whole);
    std::size_t slots = 0;
    for (std::size_t i = 0; i < axis.rows.size(); ++i) {
      const AxisRow& row = axis.rows[i];
      CHECK(row.first_slot == slots);
      slots += row.slot_x.size();
      CHECK(row.from() == (i == 0 ? asked.from : axis.rows[i - 1].to()));
      CHECK(row.points.back().x <= 1000.001);
      for (std::size_t k = 0; k < row.slot_x.size(); ++k) {
        CHECK(row.slot_x[k] + asked.slots[row.first_slot + k].width <= 1000.001);
      }
    }
    CHECK(slots == asked.slots.size());
    CHECK(axis.rows.back().to() == asked.to);
  }
}

TEST_CASE("a row does not begin in the middle of a press") {
  std::vector<sim::Duration> knots(400);
  for (std::size_t i = 0; i < knots.size(); ++i) knots[i] = i * 300ms;
  AxisRequest asked = request(knots);
  for (std::size_t i = 0; i < asked.knots.size(); ++i) asked.knots[i].may_begin_row = i % 2 == 0;
  const Axis axis = set_axis(asked);
  REQUIRE(axis.rows.size() > 2);
  for (std::size_t i = 1; i < axis.rows.size(); ++i) CHECK((axis.rows[i].from() - asked.from) % 600ms == 0ms);
}

TEST_CASE("more rows than a picture may have end it early, and it says so") {
  std::vector<sim::Duration> knots(5000);
  for (std::size_t i = 0; i < knots.size(); ++i) knots[i] = i * 1s;
  AxisRequest asked = request(knots);
  asked.most_rows = 5;
  const Axis axis = set_axis(asked);
  CHECK(axis.rows.size() == 5);
  CHECK(!axis.whole);
}

TEST_CASE("a run that takes no time is one moment") {
  AxisRequest asked = request({0s});
  const Axis axis = set_axis(asked);
  REQUIRE(axis.rows.size() == 1);
  CHECK(axis.rows.front().x(at(0s)) == 0);
}

}  // namespace
