// The medium against the theory of multiple access and of queues: what many senders get through, how long one
// waits.
//
// Each figure is the mean of independent replications with fixed seeds, and theory must lie within its
// confidence interval (Student). A right medium passes each check with probability 99.9 %; the interval must
// also be narrow enough to mean something, which is checked beside it.
#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <deque>
#include <stdexcept>
#include <utility>
#include <vector>

#include "sim/medium.h"
#include "sim/random.h"
#include "tests/support/confidence.h"
#include "tests/support/medium_bench.h"

namespace {

using drybus::sim::Duration;
using drybus::sim::EntryId;
using drybus::sim::Event;
using drybus::sim::first_free_event_kind;
using drybus::sim::Frame;
using drybus::sim::Instant;
using drybus::sim::MediumNote;
using drybus::sim::MediumTiming;
using drybus::sim::no_entry;
using drybus::sim::NodeId;
using drybus::sim::Purpose;
using drybus::sim::start_of_run;
using drybus::sim::Stream;
using drybus::test::chain;
using drybus::test::Interval;
using drybus::test::mean_interval;
using drybus::test::MediumBench;
using drybus::test::millisecond_frames;
using drybus::test::network_of;
using namespace std::chrono_literals;

constexpr double confidence = 0.999;
constexpr std::uint64_t replications = 20;
constexpr Duration frame_time = 1ms;

Duration frame_times(double count) {
  return Duration{std::llround(count * static_cast<double>(frame_time.count()))};
}

template <class Run>
Interval replicate(Run run) {
  std::vector<double> samples;
  for (std::uint64_t seed = 1; seed <= replications; ++seed) samples.push_back(run(seed));
  return mean_interval(samples, confidence);
}

/// Theory within the interval, and the interval within `precision` of it.
void check_against(double theory, const Interval& simulated, double precision) {
  INFO("theory " << theory << ", simulated " << simulated.mean << " +- " << simulated.half_width);
  CHECK(simulated.holds(theory));
  CHECK(simulated.half_width < precision * theory);
}

MediumTiming one_attempt() {
  MediumTiming timing = millisecond_frames();
  timing.attempts = 1;
  return timing;
}

/// As many stations as there are frames: each new frame comes from a station that has nothing else to send. A
/// few stations taken in turn are enough for that, since one that is busy is passed over. The last node only
/// listens.
class Population : public MediumBench {
 public:
  /// `offered` is G: attempts per frame time, a Poisson process.
  Population(const MediumTiming& timing, double offered, std::uint64_t seed)
      : MediumBench(network_of(stations + 1, chain(stations + 1), timing), seed),
        arrivals_{seed, Purpose::arrival, 1},
        offered_(offered) {
    next_arrival();
  }

  /// S: frames per frame time that the listener heard.
  double throughput(double duration) {
    run_to(frame_times(duration));
    return static_cast<double>(heard_) / duration;
  }

 protected:
  /// When an attempt that arrives at `arrival` is made.
  [[nodiscard]] virtual Instant attempt_at(Instant arrival) const { return arrival; }

 private:
  static constexpr std::uint32_t stations = 16;
  static constexpr std::uint16_t arrival_event = first_free_event_kind;
  static constexpr std::uint16_t handover_event = first_free_event_kind + 1;

  void next_arrival() {
    last_arrival_ += frame_times(arrivals_.exponential(1 / offered_));
    queue.push(last_arrival_, {arrival_event, 0, 0, no_entry});
  }

  void other_event(const Event& event) override {
    if (event.kind == handover_event) return send(idle_station(), ++frames_);
    if (const Instant at = attempt_at(now()); at > now()) {
      queue.push(at, {handover_event, 0, 0, no_entry});
    } else {
      send(idle_station(), ++frames_);
    }
    next_arrival();
  }

  /// One that neither sends nor has just sent: it would not sense the tail of its own frame.
  NodeId idle_station() {
    for (std::uint32_t passed_over = 0; passed_over < stations; ++passed_over) {
      turn_ = static_cast<NodeId>((turn_ + 1) % stations);
      const auto sent = medium.on_the_medium();
      if (std::none_of(sent.begin(), sent.end(), [&](const auto& s) { return s.node == turn_; }))
        return turn_;
    }
    throw std::logic_error("all stations are sending: the population is too small for its load");
  }

  EntryId medium_note(MediumNote, NodeId, NodeId, std::uint32_t, const Frame&, EntryId) override {
    return no_entry;
  }
  void medium_deliver(NodeId receiver, NodeId, const Frame&, EntryId) override {
    if (receiver == stations) ++heard_;
  }

  Stream arrivals_;
  double offered_;
  Instant last_arrival_ = start_of_run;
  NodeId turn_ = 0;
  std::uint32_t frames_ = 0;
  std::uint64_t heard_ = 0;
};

/// Attempts wait for the next whole frame time but one.
class SlottedPopulation final : public Population {
 public:
  using Population::Population;

 private:
  [[nodiscard]] Instant attempt_at(Instant arrival) const override {
    // Handed over a slot ahead, so that a slot's attempts are served before the ends of the slot before it.
    return start_of_run + ((arrival - start_of_run) / frame_time + 2) * frame_time;
  }
};

/// Many stations, each with its own stream of arrivals; one that is sending lets its arrival go.
class Crowd final : public MediumBench {
 public:
  Crowd(const MediumTiming& timing, double offered, std::uint64_t seed)
      : MediumBench(network_of(stations + 1, chain(stations + 1), timing), seed),
        mean_interval_(stations / offered) {
    for (NodeId station = 0; station < stations; ++station) {
      arrivals_.push_back({seed, Purpose::arrival, network().nodes[station].owner});
      next_arrival(station);
    }
  }

  double throughput(double duration) {
    run_to(frame_times(duration));
    return static_cast<double>(heard_) / duration;
  }

  static constexpr std::uint32_t stations = 300;

 private:
  void next_arrival(NodeId station) {
    queue.push(now() + frame_times(arrivals_[station].exponential(mean_interval_)),
               {first_free_event_kind, 0, station, no_entry});
  }
  void other_event(const Event& event) override {
    if (medium.nodes()[event.who].sending == 0) send(event.who, event.who);
    next_arrival(event.who);
  }
  EntryId medium_note(MediumNote, NodeId, NodeId, std::uint32_t, const Frame&, EntryId) override {
    return no_entry;
  }
  void medium_deliver(NodeId receiver, NodeId, const Frame&, EntryId) override {
    if (receiver == stations) ++heard_;
  }

  std::vector<Stream> arrivals_;
  double mean_interval_;
  std::uint64_t heard_ = 0;
};

/// One sender with a queue of frames.
class SingleServer final : public MediumBench {
 public:
  /// `load` is rho: arrivals per frame time.
  SingleServer(double load, std::uint64_t seed)
      : MediumBench(network_of(2, chain(2), without_limit()), seed),
        arrivals_{seed, Purpose::arrival, 1},
        load_(load) {
    next_arrival();
  }

  struct Figures {
    double waiting_time = 0;    ///< Wq, frame times from handing over to the first bit
    double time_in_system = 0;  ///< W, frame times from handing over to the last bit
    double waiting = 0;         ///< Lq, time average of the frames in the outbox
    double in_system = 0;       ///< L, those and the one under way
    double arrival_rate = 0;    ///< lambda, per frame time
  };

  /// Runs until `customers` frames have been handed over and all have gone.
  Figures serve(std::uint64_t customers) {
    customers_ = customers;
    while (!queue.empty()) {
      const Duration passed = queue.next_at() - now();
      waiting_ += passed * std::int64_t{medium.nodes()[0].waiting};
      in_system_ += passed * (std::int64_t{medium.nodes()[0].waiting} + medium.nodes()[0].sending);
      step();
    }
    const auto count = static_cast<double>(began_);
    const auto ratio = [](Duration a, Duration b) {
      return static_cast<double>(a.count()) / static_cast<double>(b.count());
    };
    const Duration run = now() - start_of_run;
    return {ratio(waited_, frame_time) / count, ratio(stayed_, frame_time) / count, ratio(waiting_, run),
            ratio(in_system_, run), count / ratio(run, frame_time)};
  }

 private:
  static MediumTiming without_limit() {
    MediumTiming timing = millisecond_frames();
    timing.outbox_limit = 255;
    timing.gap = 0ms;
    return timing;
  }

  void next_arrival() {
    if (arrived_++ == customers_) return;
    queue.push(now() + frame_times(arrivals_.exponential(1 / load_)),
               {first_free_event_kind, 0, 0, no_entry});
  }
  void other_event(const Event&) override {
    send(0, 0);
    next_arrival();
  }
  EntryId medium_note(MediumNote note, NodeId, NodeId, std::uint32_t, const Frame&, EntryId) override {
    if (note == MediumNote::queued) handed_over_.push_back(now());
    if (note == MediumNote::began) {
      ++began_;
      waited_ += now() - handed_over_.front();
    }
    if (note == MediumNote::ended) {
      stayed_ += now() - handed_over_.front();
      handed_over_.pop_front();
    }
    return no_entry;
  }
  void medium_deliver(NodeId, NodeId, const Frame&, EntryId) override {}

  Stream arrivals_;
  double load_;
  std::deque<Instant> handed_over_;
  std::uint64_t customers_ = 1;
  std::uint64_t arrived_ = 0;
  std::uint64_t began_ = 0;
  Duration waited_{};
  Duration stayed_{};
  Duration waiting_{};
  Duration in_system_{};
};

/// S of non-persistent carrier sense. Source: Kleinrock and Tobagi, IEEE Trans. Commun. COM-23, 1975 (closed
/// form from memory; it follows from a busy period of 1 + a + Y, Y the last start within a, and an idle
/// period of 1 / G).
double csma_throughput(double offered, double a) {
  return offered * std::exp(-a * offered) / (offered * (1 + 2 * a) + std::exp(-a * offered));
}

}  // namespace

// Source: Abramson, "The ALOHA system", AFIPS 37, 1970: S = G e^(-2G), at most 1 / (2e) = 0.1839 at G = 0.5.
TEST_CASE("senders that do not listen get through what pure ALOHA does") {
  CHECK(0.5 * std::exp(-1.0) == doctest::Approx(0.1839).epsilon(0.0005));
  for (const double offered : {0.1, 0.25, 0.5, 1.0}) {
    CAPTURE(offered);
    MediumTiming timing = one_attempt();
    timing.sense = false;
    const double duration = 12'000 / std::sqrt(offered);  // the rarer the frames, the longer it takes
    const Interval simulated =
        replicate([&](std::uint64_t seed) { return Population(timing, offered, seed).throughput(duration); });
    check_against(offered * std::exp(-2 * offered), simulated, 0.025);
  }
}

TEST_CASE("three hundred stations with a stream each get through what pure ALOHA does") {
  MediumTiming timing = one_attempt();
  timing.sense = false;
  const Interval simulated =
      replicate([&](std::uint64_t seed) { return Crowd(timing, 0.5, seed).throughput(3000); });
  // A station does not collide with itself: the other n - 1 offer G (n - 1) / n, and it lets pass what
  // arrives while it sends itself, 1 in 1 + G / n.
  const double share = 0.5 / Crowd::stations;
  const double others = 0.5 - share;
  check_against(0.5 / (1 + share) * std::exp(-2 * others), simulated, 0.04);
}

// Source: as above, attempts at multiples of the frame time: S = G e^(-G), at most 1 / e = 0.3679 at G = 1.
TEST_CASE("senders that do not listen but keep to slots get through what slotted ALOHA does") {
  for (const double offered : {0.5, 1.0}) {
    CAPTURE(offered);
    MediumTiming timing = one_attempt();
    timing.sense = false;
    const Interval simulated = replicate(
        [&](std::uint64_t seed) { return SlottedPopulation(timing, offered, seed).throughput(10'000); });
    check_against(offered * std::exp(-offered), simulated, 0.02);
  }
}

// Source: see csma_throughput; the maxima computed from it are 0.8151 at G = 9.45 (a = 0.01) and 0.6277 (a =
// 0.05).
TEST_CASE("senders that listen once get through what non-persistent carrier sense does") {
  CHECK(csma_throughput(9.45, 0.01) == doctest::Approx(0.8151).epsilon(0.0001));
  CHECK(csma_throughput(3.87, 0.05) == doctest::Approx(0.6277).epsilon(0.0001));
  constexpr std::pair<double, double> cases[] = {{0.01, 1.0}, {0.01, 9.45}, {0.01, 40.0},
                                                 {0.05, 1.0}, {0.05, 3.87}, {0.05, 15.0}};
  for (const auto& entry : cases) {
    const double a = entry.first;
    const double offered = entry.second;
    CAPTURE(a);
    CAPTURE(offered);
    MediumTiming timing = one_attempt();
    timing.sense_delay = frame_times(a);
    const Interval simulated =
        replicate([&](std::uint64_t seed) { return Population(timing, offered, seed).throughput(5000); });
    check_against(csma_throughput(offered, a), simulated, 0.02);
  }
}

// Source: Pollaczek and Khinchine for constant service (M/D/1): Wq = rho / (2 (1 - rho)) service times, Lq =
// rho Wq; at rho = 0.8 they are 2.0 and 1.6, at 0.5 they are 0.5 and 0.25 (from memory, and computed).
TEST_CASE("frames at one sender wait as long as at a server with constant service time") {
  constexpr std::pair<double, double> cases[] = {{0.8, 2.0}, {0.5, 0.5}};
  for (const auto& entry : cases) {
    const double load = entry.first;
    const double wait = entry.second;
    CAPTURE(load);
    std::vector<double> waiting_times;
    std::vector<double> waiting;
    for (std::uint64_t seed = 1; seed <= replications; ++seed) {
      const SingleServer::Figures found = SingleServer(load, seed).serve(60'000);
      waiting_times.push_back(found.waiting_time);
      waiting.push_back(found.waiting);
      // Source: Little, Operations Research 9, 1961: L = lambda W. Exact here, as the run begins and ends
      // empty.
      CHECK(found.in_system == doctest::Approx(found.arrival_rate * found.time_in_system).epsilon(1e-9));
      CHECK(found.waiting == doctest::Approx(found.arrival_rate * found.waiting_time).epsilon(1e-9));
      CHECK(found.time_in_system == doctest::Approx(found.waiting_time + 1).epsilon(1e-9));
    }
    check_against(wait, mean_interval(waiting_times, confidence), 0.03);
    check_against(load * wait, mean_interval(waiting, confidence), 0.03);
  }
}
