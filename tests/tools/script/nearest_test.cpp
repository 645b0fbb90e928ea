#include "tools/base/nearest.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "sim/random.h"
#include "tests/support/seeds.h"

namespace {

using namespace drybus;
using namespace drybus::tools;

/// Straight from the definition (optimal string alignment), by recursion on the ends of both words.
std::size_t by_definition(std::string_view a, std::string_view b) {
  if (a.empty() || b.empty()) return a.size() + b.size();
  const std::string_view a1 = a.substr(0, a.size() - 1);
  const std::string_view b1 = b.substr(0, b.size() - 1);
  std::size_t best = std::min({by_definition(a1, b) + 1, by_definition(a, b1) + 1,
                               by_definition(a1, b1) + (a.back() == b.back() ? 0u : 1u)});
  const bool swapped = a.size() > 1 && b.size() > 1 && a.back() == b1.back() && a1.back() == b.back();
  if (swapped)
    best = std::min(best, by_definition(a1.substr(0, a1.size() - 1), b1.substr(0, b1.size() - 1)) + 1);
  return best;
}

TEST_CASE("distances count what has to be put in, taken out, changed or swapped") {
  CHECK(edit_distance("script", "script", 3) == 0);
  CHECK(edit_distance("scripp", "script", 3) == 1);
  CHECK(edit_distance("scirpt", "script", 3) == 1);
  CHECK(edit_distance("scrpt", "script", 3) == 1);
  CHECK(edit_distance("sscript", "script", 3) == 1);
  CHECK(edit_distance("SCRIPT", "script", 3) == 0);
  // Common worked examples.
  CHECK(edit_distance("kitten", "sitting", 5) == 3);
  CHECK(edit_distance("ca", "abc", 5) == 3);  // 2 if swapped letters could be parted again
  CHECK(edit_distance("saturday", "sunday", 5) == 3);
  CHECK(edit_distance("abcdef", "uvwxyz", 3) == 4);
  CHECK(edit_distance("", "abc", 5) == 3);
}

TEST_CASE("distances are those of the definition") {
  for (const std::uint64_t seed : test::seeds(300)) {
    CAPTURE(test::replay(seed, "distances are those of the definition"));
    sim::Stream stream{seed, sim::Purpose::generator, 0};
    const auto word = [&] {
      std::string text(stream.below(7), 'a');
      for (char& c : text) c = static_cast<char>('a' + stream.below(3));
      return text;
    };
    const std::string a = word();
    const std::string b = word();
    CAPTURE(a);
    CAPTURE(b);
    CHECK(edit_distance(a, b, 10) == by_definition(a, b));
  }
}

TEST_CASE("the nearest word is offered, but only when it could have been meant") {
  const std::vector<std::string> words = {"press", "hold", "wait", "walk", "switches", "power", "P1", "M1"};
  CHECK(nearest("pres", words) == "press");
  CHECK(nearest("waitt", words) == "wait");
  CHECK(nearest("wlak", words) == "walk");
  CHECK(nearest("swithces", words) == "switches");
  CHECK(nearest("p1", words) == "P1");
  CHECK(nearest("P2", words) == "P1");
  CHECK(nearest("x", words).empty());
  CHECK(nearest("illuminate", words).empty());
  CHECK(nearest("", words).empty());
  CHECK(nearest(std::string(100'000, 'p'), words).empty());
}

TEST_CASE("lists of right words end somewhere") {
  CHECK(one_of(std::vector<std::string>{"a", "b"}) == "one of: a, b");
  CHECK(one_of(std::vector<std::string>{"a"}) == "a");
  CHECK(one_of(std::vector<std::string>(1000, "word")).ends_with("word, ..."));
}

}  // namespace
