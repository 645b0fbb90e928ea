// How conversations about natural calls go: what is found, asked and cured, by number of slips and by how much was said.
#include <benchmark/benchmark.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <string>
#include <vector>

#include "tests/bench/natural_talk.h"
#include "tools/base/parallel.h"
#include "tools/script/catalogue_reader.h"

namespace {

using namespace drybus;

constexpr double sure = 0.95;

struct Talk {
  std::size_t slips = 0;  ///< 0: left out
  bool catalogued = true;
  bench::Richness richness = bench::Richness::natural;
  bench::TalkScore score;
};
using Talks = std::vector<Talk>;

bench::Families shipped_families() {
  bench::Families families;
  for (const char* name : {"wired-keypad", "radio-keypad"}) {
    auto reading = tools::read_family(std::string{DRYBUS_SOURCE_DIR "/scenarios/families/"} + name + ".yaml");
    families.all.push_back(reading.value().family);
  }
  return families;
}

/// Calls of each number of slips; fewer can be asked for while something is being tried out.
std::size_t calls_of_each() {
  const char* asked = std::getenv("DRYBUS_NATURAL_CALLS");
  return asked != nullptr ? static_cast<std::size_t>(std::strtoul(asked, nullptr, 10)) : 200;
}

/// Others than those of the figures that are told can be asked for, so that nothing is tuned to these.
std::uint64_t first_seed() {
  const char* asked = std::getenv("DRYBUS_NATURAL_FIRST");
  return asked != nullptr ? std::strtoull(asked, nullptr, 10) : 1;
}

template <class Of>
double share(const Talks& talks, Of of) {
  if (talks.empty()) return 0;
  return static_cast<double>(std::count_if(talks.begin(), talks.end(), of)) /
         static_cast<double>(talks.size());
}

template <class If>
Talks those(const Talks& talks, If fits) {
  Talks some;
  std::copy_if(talks.begin(), talks.end(), std::back_inserter(some), fits);
  return some;
}

bool is_among(const Talk& talk, std::size_t first) {
  return talk.score.rank >= 1 && talk.score.rank <= first;
}

double steps_ratio(const Talks& talks) {
  double dictated = 0;
  double known = 0;
  for (const Talk& talk : talks) {
    if (talk.score.steps_known == 0) continue;
    dictated += static_cast<double>(talk.score.steps);
    known += static_cast<double>(talk.score.steps_known);
  }
  return known > 0 ? dictated / known : 0;
}

double wrong_of_the_sure(const Talks& talks) {
  return share(those(talks, [](const Talk& talk) { return talk.score.said_sure >= sure; }),
               [](const Talk& talk) { return !talk.score.surely_right; });
}

double needless(const Talks& talks) {
  return share(those(talks, [](const Talk& talk) { return !talk.score.broken; }),
               [](const Talk& talk) { return talk.score.electrician; });
}

template <class Of>
double mean(const Talks& talks, Of of) {
  double sum = 0;
  for (const Talk& talk : talks) sum += static_cast<double>(of(talk));
  return talks.empty() ? 0 : sum / static_cast<double>(talks.size());
}

/// The figures of one class of calls.
void tell(benchmark::State& state, const std::string& of, const Talks& talks) {
  const auto count = [&](const std::string& figure, double value) {
    state.counters["natural_" + figure + of] = value;
  };
  count("calls", static_cast<double>(talks.size()));
  count("top1", share(talks, [](const Talk& talk) { return is_among(talk, 1); }));
  count("top3", share(talks, [](const Talk& talk) { return is_among(talk, 3); }));
  count("one_of_them", share(talks, [](const Talk& talk) { return talk.score.one_of_them; }));
  count("right_end", share(talks, [](const Talk& talk) { return talk.score.right_end; }));
  count("checks", mean(talks, [](const Talk& talk) { return talk.score.checks; }));
  count("minutes", mean(talks, [](const Talk& talk) { return talk.score.minutes; }));
  count("answers", mean(talks, [](const Talk& talk) { return talk.score.answers; }));
  count("sure_but_wrong", wrong_of_the_sure(talks));
  count("sure", share(talks, [](const Talk& talk) { return talk.score.said_sure >= sure; }));
  count("steps_ratio", steps_ratio(talks));
  count("needless_electricians", needless(talks));
  count("spoilt", mean(talks, [](const Talk& talk) { return talk.score.spoilt; }));
  state.counters["first_cure" + of] = share(talks, [](const Talk& talk) { return talk.score.first_cure; });
}

void tell_by_class(benchmark::State& state, const Talks& talks) {
  for (const std::size_t slips : {1u, 2u}) {
    const std::string name = slips == 1 ? "_single" : "_double";
    const Talks all = those(talks, [&](const Talk& talk) { return talk.slips == slips; });
    tell(state, name, all);
    tell(state, name + "_catalogued", those(all, [](const Talk& talk) { return talk.catalogued; }));
    tell(state, name + "_uncatalogued", those(all, [](const Talk& talk) { return !talk.catalogued; }));
    const std::vector<std::pair<bench::Richness, std::string>> kinds = {
        {bench::Richness::thin, "_thin"},
        {bench::Richness::natural, "_natural"},
        {bench::Richness::full, "_full"}};
    for (const auto& [richness, word] : kinds)
      tell(state, name + word, those(all, [&](const Talk& talk) { return talk.richness == richness; }));
  }
  state.counters["sure_but_wrong"] = wrong_of_the_sure(talks);
  state.counters["needless_electricians"] = needless(talks);
  state.counters["steps_ratio"] = steps_ratio(talks);
  // Said against true, in tenths.
  for (int tenth = 0; tenth < 10; ++tenth) {
    const Talks of_tenth = those(talks, [&](const Talk& talk) {
      return std::min(9, static_cast<int>(talk.score.said_sure * 10)) == tenth;
    });
    if (of_tenth.empty()) continue;
    state.counters[fmt::format("natural_true_of_{}0_percent", tenth)] =
        share(of_tenth, [](const Talk& talk) { return talk.score.surely_right; });
  }
  std::vector<double> seconds;
  for (const Talk& talk : talks) seconds.push_back(talk.score.worst_answer_s);
  std::sort(seconds.begin(), seconds.end());
  state.counters["natural_median_worst_answer_s"] = seconds[seconds.size() / 2];
  state.counters["natural_worst_answer_s"] = seconds.back();
}

/// DRYBUS_NATURAL_LIST=words: conversations, word for word.
std::function<void(const std::string&)> words_of_calls() {
  const char* asked = std::getenv("DRYBUS_NATURAL_LIST");
  if (asked == nullptr || std::string{asked} != "words") return {};
  return [](const std::string& words) { fmt::print(stderr, "{}\n", words); };
}

/// Only calls of so many slips, where asked for.
bool is_left_out(std::size_t slips) {
  const char* asked = std::getenv("DRYBUS_NATURAL_SLIPS");
  return asked != nullptr && std::strtoul(asked, nullptr, 10) != slips;
}

/// One line a call, for whoever wants to know which went wrong.
void list(const bench::NaturalCall& call, const bench::TalkScore& score) {
  std::string line = fmt::format(
      "{}/{} modules {} said {} rank {} one {} checks {} sure {:.2f} {} cure {} end {} electrician {}/{} "
      "steps {}/{} "
      "spoilt {} answers {} s {:.2f}/{:.2f} explored {:.2f}",
      call.seed, call.causes.size(), call.truth.site.modules.size(), call.report.seen.size(), score.rank,
      score.one_of_them ? 1 : 0, score.checks, score.said_sure, score.surely_right ? "right" : "WRONG",
      score.first_cure ? "ok"
      : score.no_cure  ? "NONE"
                       : "BAD",
      score.right_end ? "ok" : "BAD", score.electrician ? 1 : 0, score.broken ? 1 : 0, score.steps,
      score.steps_known, score.spoilt, score.answers, score.worst_answer_s, score.seconds, score.explored);
  for (const bench::NaturalCause& cause : call.causes) line += " | " + cause.named.text;
  fmt::print(stderr, "{}\n", line);
}

void natural_calls(benchmark::State& state) {
  const bench::Families families = shipped_families();
  const model::Catalogue catalogue =
      tools::read_catalogue(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml").value();
  const std::size_t each = calls_of_each();
  Talks talks(2 * each);
  const bool listed = std::getenv("DRYBUS_NATURAL_LIST") != nullptr;
  for ([[maybe_unused]] auto _ : state) {
    tools::in_parallel(talks.size(), 0, [&](std::size_t i) {
      const std::size_t slips = i < each ? 1 : 2;
      if (is_left_out(slips)) return;
      const bench::NaturalCall call = bench::make_natural_call(families, first_seed() + i % each, slips);
      const bool catalogued = std::all_of(call.causes.begin(), call.causes.end(),
                                          [](const bench::NaturalCause& cause) { return cause.catalogued; });
      talks[i] = {slips, catalogued, call.richness, bench::score_talk(call, catalogue, words_of_calls())};
      if (listed) list(call, talks[i].score);
    });
  }
  talks.erase(std::remove_if(talks.begin(), talks.end(), [](const Talk& talk) { return talk.slips == 0; }),
              talks.end());
  tell_by_class(state, talks);
}
BENCHMARK(natural_calls)->Name("diagnosis/natural_calls")->Unit(benchmark::kSecond)->Iterations(1);

}  // namespace
