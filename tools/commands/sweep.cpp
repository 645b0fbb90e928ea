// drybus sweep: many seeded runs with people's timing and slips; how often each finding comes of it.
#include "model/run/sweep.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <boost/json.hpp>
#include <charconv>
#include <chrono>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "sim/digest.h"
#include "sim/statistics.h"
#include "tools/base/json_text.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/base/workforce.h"
#include "tools/commands/command.h"
#include "tools/commands/protocol_runs.h"
#include "tools/commands/sweep_store.h"
#include "tools/commands/sweep_study.h"
#include "tools/load/load.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/options/log_choice.h"
#include "tools/view/story.h"

namespace drybus::tools {

using model::msg;
using model::tr;
using model::tr_as;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

struct Shard {
  std::uint64_t index = 1;
  std::uint64_t of = 1;
};

struct SweepRequest {
  std::string name;
  const LoadedScenario& loaded;
  model::HumanFactors factors;
  std::uint64_t seed = 1;
  std::uint64_t runs = 1000;
  std::uint64_t jobs = 0;
  Shard shard;
  std::optional<std::string> state;
  FirmwareChoice firmware{};
  model::Budget budget{};
  Log log{};
};

using Row = StudyRow;

std::uint64_t whole_number(std::string_view text, std::string_view what) {
  std::uint64_t number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc{} || end != text.data() + text.size()) {
    throw Unusable{tr("{}: '{}' is no whole number", what, text)};
  }
  return number;
}

Shard shard_of(const std::string& text) {
  const std::size_t slash = text.find('/');
  if (slash == std::string::npos) throw Unusable{tr("--shard {}: expected I/N, such as 2/8", text)};
  const Shard shard{whole_number(std::string_view{text}.substr(0, slash), "--shard"),
                    whole_number(std::string_view{text}.substr(slash + 1), "--shard")};
  if (shard.index < 1 || shard.index > shard.of) throw Unusable{tr("--shard {}: I is between 1 and N", text)};
  return shard;
}

/// Names a sweep: the same key, the same blocks.
std::string key_of(const SweepRequest& request, std::optional<sim::Duration> value,
                   const std::string& parameter) {
  sim::Digest digest;
  digest.add(std::string_view{DRYBUS_VERSION});
  for (const auto& source : request.loaded.sources) digest.add(std::string_view{source.text});
  if (!request.firmware.built_in()) digest.add(std::string_view{request.firmware.fingerprint()});
  digest.add(request.seed);
  digest.add(request.factors.omit_ppb | std::uint64_t{request.factors.wrong_ppb} << 32);
  digest.add(request.factors.repeat_ppb | std::uint64_t{request.factors.let_go_early_ppb} << 32);
  digest.add(parameter);
  digest.add(value ? static_cast<std::uint64_t>(value->count()) : 0);
  return digest.value().hex();
}

/// Progress with time left.
class Progress {
 public:
  explicit Progress(std::uint64_t total) : total_(total) {}

  void done(std::uint64_t runs) {
    const std::uint64_t done = done_ += runs;
    line_.show([&](double gone_s) {
      const double left_s = gone_s * static_cast<double>(total_ - done) / static_cast<double>(done);
      return tr("{} of {} runs, {:.0f} runs/s, {:.0f} s left", done, total_,
                static_cast<double>(done) / gone_s, left_s);
    });
  }

 private:
  std::uint64_t total_;
  std::atomic<std::uint64_t> done_ = 0;
  ProgressLine line_;
};

/// One value of the parameter, or the scenario as it is; in blocks, which anybody can do.
class Part {
 public:
  Part(const SweepRequest& request, const model::Scenario& scenario, std::string key)
      : request_(request), scenario_(scenario), key_(std::move(key)) {
    for (std::uint64_t first = 0, i = 0; first < request.runs; first += sweep_block, ++i) {
      if (i % request.shard.of == request.shard.index - 1) blocks_.push_back(first);
    }
    if (request.state) store_.emplace(*request.state, key_);
  }

  model::SweepPart sweep(Progress& progress) const {
    std::vector<model::SweepPart> parts(blocks_.size());
    workforce().do_all(
        {blocks_.size(), request_.jobs, [this](std::size_t i) { return block_text(block(i), key_); },
         [&](std::size_t i, const std::string& text) {
           parts[i] = taken(i, text);
           request_.log.debug("runs {} to {} are done", blocks_[i], blocks_[i] + parts[i].runs - 1);
           progress.done(parts[i].runs);
         }});
    model::SweepPart total;
    for (const model::SweepPart& part : parts) total.add(part);
    return total;
  }

 private:
  [[nodiscard]] std::uint64_t runs_of(std::size_t i) const {
    return std::min(sweep_block, request_.runs - blocks_[i]);
  }

  [[nodiscard]] model::SweepPart block(std::size_t i) const {
    if (store_) {
      const auto kept = store_->find(blocks_[i]);
      if (kept && kept->runs == runs_of(i)) return *kept;
    }
    model::SweepPart part = model::Sweeper{scenario_, request_.factors, request_.seed, request_.budget}.runs(
        blocks_[i], runs_of(i));
    if (store_) store_->keep(part);
    return part;
  }

  [[nodiscard]] model::SweepPart taken(std::size_t i, const std::string& text) const {
    const auto refuse = [](std::string_view why) {
      throw Unusable{
          tr("a rank has sent what is no block of this sweep ({}): do all ranks have the same "
             "program and the same files?",
             why)};
    };
    model::SweepPart part;
    try {
      part = part_from(text, key_);
    } catch (const std::exception& error) {
      refuse(reason_of(error));
    }
    if (part.first != blocks_[i] || part.runs != runs_of(i)) refuse(tr("of other runs"));
    return part;
  }

  const SweepRequest& request_;
  const model::Scenario& scenario_;
  std::string key_;
  std::vector<std::uint64_t> blocks_;  ///< the first run of each
  std::optional<SweepStore> store_;
};

std::vector<Row> sweep_all(const SweepRequest& request, const std::optional<Study>& study) {
  std::vector<Row> rows;
  const std::uint64_t values = study ? study->values : 1;
  Progress progress{request.runs * values / request.shard.of};
  for (std::uint64_t i = 0; i < values; ++i) {
    model::Scenario scenario = request.loaded.scenario;
    Row row;
    if (study) {
      row.value = study->value(i);
      set_parameter(scenario.site.family, study->parameter, *row.value);
      request.firmware.put_in(scenario);  // it is given the family's numbers
      request.log.info("{} = {}", study->parameter, model::duration_text(*row.value));
    }
    row.total =
        Part{request, scenario, key_of(request, row.value, study ? study->parameter : "")}.sweep(progress);
    rows.push_back(row);
  }
  return rows;
}

/// The same, told to whoever reads the log.
std::vector<Row> sweep_logged(const SweepRequest& request, const std::optional<Study>& study) {
  const auto begun = std::chrono::steady_clock::now();
  request.log.info("{}: {} runs, seed {}, part {} of {}", request.name, request.runs, request.seed,
                   request.shard.index, request.shard.of);
  try {
    std::vector<Row> rows = sweep_all(request, study);
    std::uint64_t runs = 0;
    for (const Row& row : rows) runs += row.total.runs;
    const double took_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
    request.log.info("{} runs in {:.1f} s, {:.0f} runs/s", runs, took_s, static_cast<double>(runs) / took_s);
    return rows;
  } catch (const std::exception& error) {
    request.log.error("it ends without a result: {}", reason_of(error));
    throw;
  }
}

// --- what is told ---

std::string thousandths_text(double number) {
  return model::with_decimal_mark(fmt::format("{:.3f}", number));
}

std::string rate_text(std::uint64_t hits, std::uint64_t runs) {
  const sim::Interval interval = sim::wilson(hits, runs);
  const double rate = runs == 0 ? 0 : 100.0 * static_cast<double>(hits) / static_cast<double>(runs);
  return tr("{:>8}  {:>7} %  {:>7} % to {} %", hits, thousandths_text(rate),
            thousandths_text(100 * interval.low), thousandths_text(100 * interval.high));
}

std::string table_of(const model::SweepPart& total) {
  std::string text =
      fmt::format("  {:<22}{:>8}  {:>9}  {:<22} {}\n", tr_as("column", "finding"), tr_as("column", "runs"),
                  tr_as("column", "rate"), tr("95 % interval (Wilson)"), tr("first in run"));
  for (std::size_t i = 0; i < model::finding_count; ++i) {
    if (total.hits[i] == 0) continue;
    text += fmt::format("  {:<22}{:<44} {}\n", to_string(static_cast<model::FindingId>(i)),
                        rate_text(total.hits[i], total.runs), total.first_run[i]);
  }
  text += fmt::format("  {:<22}{}\n", tr("any finding"), rate_text(total.with_finding, total.runs));
  return text + fmt::format("  {:<22}{}\n", tr("(a slip was made)"), rate_text(total.with_slip, total.runs));
}

std::string as_text(const SweepRequest& request, const std::vector<Row>& rows,
                    const std::optional<Study>& study) {
  std::string text = tr("{}: {} runs with people's timing and slips, seed {}\n", request.name,
                        rows[0].total.runs, request.seed);
  for (const Row& row : rows) {
    if (row.value) text += fmt::format("\n{} = {}\n", study->parameter, model::duration_text(*row.value));
    text += table_of(row.total);
  }
  if (study) text += "\n" + best_text(rows, *study);
  return text + tr("replay a run: drybus sweep {} --seed {}{} --run N\n", request.name, request.seed,
                   request.firmware.options());
}

json::object as_json(const model::SweepPart& total) {
  json::object findings;
  for (std::size_t i = 0; i < model::finding_count; ++i) {
    if (total.hits[i] == 0) continue;
    const sim::Interval interval = sim::wilson(total.hits[i], total.runs);
    findings[to_string(static_cast<model::FindingId>(i))] =
        json::object{{"runs", total.hits[i]},
                     {"rate", static_cast<double>(total.hits[i]) / static_cast<double>(total.runs)},
                     {"low", interval.low},
                     {"high", interval.high},
                     {"first_run", total.first_run[i]}};
  }
  return {{"runs", total.runs},
          {"with_slip", total.with_slip},
          {"with_finding", total.with_finding},
          {"findings", findings}};
}

std::string as_json(const SweepRequest& request, const std::vector<Row>& rows,
                    const std::optional<Study>& study) {
  json::array all;
  for (const Row& row : rows) {
    json::object object = as_json(row.total);
    if (row.value) object["value_s"] = sim::seconds(*row.value);
    all.push_back(object);
  }
  json::value parameter;
  if (study) parameter = study->parameter;
  json::object told{
      {"scenario", request.name}, {"seed", request.seed}, {"parameter", parameter}, {"rows", std::move(all)}};
  if (study) add_best(told, rows);
  return json_text(told) + "\n";
}

/// Tells one run of the sweep: its slips and its story.
int tell_run(const SweepRequest& request, std::uint64_t run) {
  model::Sweeper sweeper{request.loaded.scenario, request.factors, request.seed};
  std::vector<model::Slip> slips;
  const model::Scenario& scenario = sweeper.scenario_of(run, slips);
  std::string text = tr("run {} of the sweep with seed {}\n", run, request.seed);
  for (const model::Slip& slip : slips) text += tr("  slip: {}\n", describe(request.loaded.scenario, slip));
  if (slips.empty()) text += tr("  no slip\n");
  model::RunOptions options;
  options.seed = request.seed + run;
  options.budget = request.budget;
  const model::RunResult result = model::run(scenario, options);
  refuse_used_up(request.name, scenario, result);
  print_out(text + "\n" + story_text(scenario, result, request.seed + run));
  return result.broken_off ? exit_failed : exit_fine;
}

}  // namespace

int sweep_command(Arguments arguments) {
  CommandLine line{"drybus sweep SCENARIO [options]"};
  line.add()("runs,n", po::value<std::string>()->default_value("1000"), msg("how many").data());
  line.add()("seed", po::value<std::string>()->default_value("1"), msg("of the sweep").data());
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             msg("threads; 0: as many as there are cores").data());
  line.add()("no-slips", msg("people's timing only").data());
  line.add()("check-list", msg("a check-off list is used: fewer steps are forgotten").data());
  line.add()("vary", po::value<std::string>(),
             msg("a parameter study, such as time_out=60s..600s/10").data());
  line.offer_output("plot,o", msg("write the study there as a picture (.svg)").data());
  line.add()("shard", po::value<std::string>(), msg("only the I-th of N parts, such as 2/8").data());
  line.add()(
      "state", po::value<std::string>(),
      msg("keep finished blocks in this folder and go on from those that are there; run once more without "
          "--shard "
          "to merge")
          .data());
  line.add()("run", po::value<std::string>(), msg("tell one run of the sweep").data());
  offer_budget(line);
  offer_firmware(line);
  offer_log(line,
            msg("add what happens to a file: when it began, how fast it goes, which ranks were lost").data());
  line.offer_json();
  line.take_words("SCENARIO", 1, 1);
  if (!line.parse(arguments)) return exit_fine;

  if (names_protocol(line.words()[0])) return sweep_of_protocol(line);
  const FirmwareChoice firmware = read_firmware(line);
  LoadedScenario loaded = load_scenario(line.words()[0]);
  firmware.put_in(loaded.scenario);
  SweepRequest request{line.words()[0],
                       loaded,
                       {},
                       line.number("seed"),
                       line.number("runs"),
                       line.number("jobs"),
                       {},
                       line.optional_text("state"),
                       firmware,
                       read_budget(line),
                       read_log(line, "sweep", loaded.sources)};
  if (line.has("shard")) request.shard = shard_of(line.text("shard"));
  if (line.has("check-list")) request.factors.omit_ppb = 1'000'000;
  if (line.has("no-slips")) {
    request.factors.omit_ppb = request.factors.wrong_ppb = request.factors.repeat_ppb = 0;
    request.factors.let_go_early_ppb = 0;
  }
  const bool wants_json = line.json_wanted();
  if (request.runs == 0 || request.runs > 1'000'000'000)
    throw Unusable{tr("--runs: between 1 and 1,000,000,000")};
  if (line.has("run")) return tell_run(request, line.number("run"));

  std::optional<Study> study;
  if (line.has("vary")) study = study_of(line.text("vary"));
  if (line.has("plot") && !study) throw Unusable{tr("--plot shows a study: give --vary as well")};
  const std::vector<Row> rows = sweep_logged(request, study);
  if (line.has("plot"))
    write_file(line.text("plot"), study_plot(request.loaded.scenario.title, rows, *study));
  print_out(wants_json ? as_json(request, rows, study) : as_text(request, rows, study));
  return exit_fine;
}

}  // namespace drybus::tools
