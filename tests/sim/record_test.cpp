// The record of a run: how entries are named, and that every field of them reaches the digest.
#include "sim/record.h"

#include <doctest/doctest.h>

#include <chrono>
#include <limits>
#include <set>
#include <type_traits>
#include <vector>

#include "sim/digest.h"
#include "sim/time.h"

namespace {

using drybus::sim::Digest;
using drybus::sim::Duration;
using drybus::sim::Entry;
using drybus::sim::EntryId;
using drybus::sim::Fingerprint;
using drybus::sim::no_entry;
using drybus::sim::Record;
using drybus::sim::start_of_run;
using drybus::sim::transmission_time;
using namespace std::chrono_literals;

Entry entry(Duration at, EntryId cause, std::uint16_t kind) {
  Entry made;
  made.at = start_of_run + at;
  made.cause = cause;
  made.kind = kind;
  return made;
}

Fingerprint fingerprint(const Record& record) {
  Digest digest;
  record.add_to(digest);
  return digest.value();
}

Fingerprint fingerprint(const Entry& only) {
  Record record;
  record.add(only);
  return fingerprint(record);
}

}  // namespace

TEST_CASE("entries are named from one, and nought names none") {
  Record record;
  CHECK(record.size() == 0);
  const EntryId press = record.add(entry(1ms, no_entry, 10));
  const EntryId sent = record.add(entry(2ms, press, 20));
  CHECK(press == 1);
  CHECK(sent == 2);
  CHECK(record[press].kind == 10);
  CHECK(record[sent] == entry(2ms, press, 20));
  CHECK(record.entries().size() == 2);
}

TEST_CASE("causes lead back from any entry to where it began") {
  Record record;
  const EntryId press = record.add(entry(1ms, no_entry, 1));
  record.add(entry(1ms, no_entry, 9));
  const EntryId queued = record.add(entry(1ms, press, 2));
  const EntryId heard = record.add(entry(8ms, queued, 3));
  std::vector<std::uint16_t> kinds;
  for (EntryId at = heard; at != no_entry; at = record[at].cause) kinds.push_back(record[at].kind);
  CHECK(kinds == std::vector<std::uint16_t>{3, 2, 1});
}

TEST_CASE("every field of an entry reaches the digest, and none is mistaken for another") {
  const Entry plain;
  std::vector<Entry> changed(8, plain);
  changed[1].at = start_of_run + 1ns;
  changed[2].cause = 1;
  changed[3].because = 1;
  changed[4].kind = 1;
  changed[5].who = 1;
  changed[6].a = 1;
  changed[7].b = 1;
  for (std::size_t i = 0; i < changed.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      CAPTURE(i);
      CAPTURE(j);
      CHECK(fingerprint(changed[i]) != fingerprint(changed[j]));
    }
  }
  Entry full;
  full.cause = full.because = full.a = ~0U;
  full.kind = 0xffff;
  full.who = ~0U;
  full.b = ~std::uint64_t{0};
  Entry nearly = full;
  nearly.who = ~1U;
  CHECK(fingerprint(full) != fingerprint(nearly));
}

TEST_CASE("every bit of an entry reaches the digest, and none is mistaken for another") {
  std::set<Fingerprint> seen{fingerprint(Entry{})};
  const auto is_new = [&](auto Entry::*field) {
    Entry one;
    using Field = std::remove_reference_t<decltype(one.*field)>;
    for (int bit = 0; bit < std::numeric_limits<Field>::digits; ++bit) {
      one.*field = static_cast<Field>(Field{1} << bit);
      CAPTURE(bit);
      CHECK(seen.insert(fingerprint(one)).second);
    }
  };
  is_new(&Entry::kind);
  is_new(&Entry::who);
  is_new(&Entry::cause);
  is_new(&Entry::because);
  is_new(&Entry::a);
  is_new(&Entry::b);
  CHECK(seen.size() == 1 + 16 + 4 * 32 + 64);
}

TEST_CASE("the order of entries reaches the digest") {
  Record one;
  one.add(entry(1ms, no_entry, 1));
  one.add(entry(1ms, no_entry, 2));
  Record other;
  other.add(entry(1ms, no_entry, 2));
  other.add(entry(1ms, no_entry, 1));
  CHECK(one != other);
  CHECK(fingerprint(one) != fingerprint(other));
}

TEST_CASE("records of one history are equal, and a cleared one starts again") {
  Record record;
  record.add(entry(1ms, no_entry, 1));
  Record copy = record;
  CHECK(copy == record);
  CHECK(fingerprint(copy) == fingerprint(record));
  copy.add(entry(2ms, 1, 2));
  CHECK(copy != record);
  copy.clear();
  CHECK(copy == Record{});
  CHECK(copy.add(entry(3ms, no_entry, 3)) == 1);
}

// Source: ten bits per byte (8N1) over the bit rate: 1041.67 us at 9600 bit/s, 86.81 us at 115200 bit/s.
TEST_CASE("bits take their time on the medium, rounded up to a whole nanosecond") {
  CHECK(transmission_time(10, 9600) == 1'041'667ns);
  CHECK(transmission_time(10, 115'200) == 86'806ns);
  CHECK(transmission_time(70, 70'000) == 1ms);
  CHECK(transmission_time(0, 9600) == 0ns);
}
