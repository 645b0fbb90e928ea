// Whether a frame was spoilt was judged by how things stood at its last bit: a rival whose link opened in the middle, and noise
// that ended 0.3 ms early, had done nothing.
#include <doctest/doctest.h>

#include <vector>

#include "tests/support/medium_bench.h"

using namespace std::chrono_literals;
using drybus::sim::LinkState;
using drybus::sim::Loss;
using drybus::test::chain;
using drybus::test::MediumLog;
using drybus::test::millisecond_frames;
using drybus::test::network_of;

namespace {

using Tags = std::vector<std::uint32_t>;
using Losses = std::vector<Loss>;

MediumLog line_of(std::uint32_t count) {
  return MediumLog{network_of(count, chain(count), millisecond_frames()), 1};
}

}  // namespace

TEST_SUITE("regressions: medium judges the end only") {
  TEST_CASE("a rival that is cut off in the middle has still spoilt the frame") {
    MediumLog bench = line_of(4);  // 0 and 3 begin together; 1 hears both
    bench.send(0, 1);
    bench.send(3, 2);
    bench.run_to(400us);
    bench.set_link(1, LinkState::open);
    bench.run_out();
    CHECK(bench.heard_by(1).empty());
    CHECK(bench.losses_of(1) == Losses{Loss::collision, Loss::no_path});  // of 0, of 3
    CHECK(bench.heard_by(2).empty());
  }

  TEST_CASE("a rival that was never heard spoils nothing, whatever becomes of its link") {
    MediumLog bench = line_of(4);
    bench.set_link(1, LinkState::open);
    bench.send(0, 1);
    bench.send(3, 2);
    bench.run_to(400us);
    bench.set_link(2, LinkState::open);
    bench.run_out();
    CHECK(bench.heard_by(1) == Tags{1});
  }

  TEST_CASE("noise that ends just before the last bit has done its work, and spares the next frame") {
    MediumLog bench = line_of(2);
    bench.set_link(0, LinkState::noisy, 500'000'000);
    bench.send(0, 1);
    bench.run_to(700us);
    bench.set_link(0, LinkState::sound);
    bench.run_out();
    CHECK(bench.losses_of(1) == Losses{Loss::noise});
    CHECK(bench.medium.link_state(0) == LinkState::sound);
    CHECK(bench.medium.impairments().empty());
    bench.send(0, 2);
    bench.run_out();
    CHECK(bench.heard_by(1) == Tags{2});
  }

  TEST_CASE("noise is over with the frame that a power cut ended") {
    MediumLog bench = line_of(2);
    bench.set_link(0, LinkState::noisy, 500'000'000);
    bench.send(0, 1);
    bench.run_to(400us);
    bench.set_link(0, LinkState::sound);
    bench.set_power(0, false);
    CHECK(bench.medium.impairments().empty());
    bench.set_power(0, true);
    bench.send(0, 2);
    bench.run_out();
    CHECK(bench.heard_by(1) == Tags{2});
  }
}
