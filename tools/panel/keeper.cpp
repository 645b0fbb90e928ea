#include "tools/panel/keeper.h"

#include <fmt/format.h>

#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/panel/keep_workshop.h"

namespace drybus::tools {

using model::tr;

namespace {
constexpr RealTime while_it_plays = std::chrono::seconds{5};
constexpr RealTime at_most_every = std::chrono::seconds{1};
}  // namespace

/// The bench that has waited longest of those whose time it is.
std::optional<BenchId> Keeper::most_overdue(const Workshop& workshop, RealTime real) const {
  std::optional<BenchId> found;
  RealTime longest = RealTime::zero();
  for (const BenchId id : workshop.benches()) {
    const auto written = benches_.find(id);
    const Written last = written == benches_.end() ? Written{} : written->second;
    const Panel& bench = workshop.bench(id);
    if (bench.changes() == last.changes) continue;
    const RealTime waited = real - last.at - (bench.bench().playing() ? while_it_plays : at_most_every);
    if (waited < longest) continue;
    longest = waited;
    found = id;
  }
  return found;
}

void Keeper::look(Workshop& workshop, RealTime real) {
  if (options_.results && real - results_at_ >= at_most_every) {
    results_at_ = real;
    write_results(workshop);
  }
  if (!options_.folder) return;
  if (class_.changes != workshop.changes() && real - class_.at >= at_most_every) {
    class_.at = real;
    write_class(workshop);
    return;
  }
  if (const auto bench = most_overdue(workshop, real)) {
    benches_[*bench].at = real;
    write_bench(workshop, *bench);
  }
}

void Keeper::write_last(Workshop& workshop) {
  if (options_.results) write_results(workshop);
  if (!options_.folder) return;
  if (class_.changes != workshop.changes()) write_class(workshop);
  for (const BenchId id : workshop.benches()) {
    const auto written = benches_.find(id);
    if (written == benches_.end() || written->second.changes != workshop.bench(id).changes())
      write_bench(workshop, id);
  }
}

bool Keeper::write_class(Workshop& workshop) {
  if (openings_ != workshop.openings()) {
    openings_ = workshop.openings();
    benches_.clear();
    forget_kept_own(*options_.folder);
  }
  if (!write(workshop, kept_class_file(*options_.folder), kept_class_text(workshop.kept()))) return false;
  class_.changes = workshop.changes();
  return true;
}

bool Keeper::write_bench(Workshop& workshop, BenchId bench) {
  KeptBench kept = workshop.bench(bench).kept();
  kept.links = links_;
  const auto file =
      bench == class_bench ? kept_file(*options_.folder) : kept_own_file(*options_.folder, bench);
  if (!write(workshop, file, kept_text(kept))) return false;
  benches_[bench].changes = workshop.bench(bench).changes();
  return true;
}

bool Keeper::write_results(Workshop& workshop) {
  std::string text = results_csv(workshop.results(), options_.names);
  if (text == results_) return true;
  if (!write(workshop, *options_.results, text)) return false;
  results_ = std::move(text);
  return true;
}

bool Keeper::write(Workshop& workshop, const std::filesystem::path& file, const std::string& text) {
  try {
    write_file(file, text);
  } catch (const Unusable& why) {
    log_.error("the bench is not kept: {}", why.what());
    if (!failed_) {
      workshop.tell_trainers(
          tr("The bench is not kept any more ({}). Should the program end, what is done from now on "
             "is lost.",
             why.what()));
    }
    failed_ = true;
    return false;
  }
  if (failed_) workshop.tell_trainers(tr("The bench is kept again."));
  failed_ = false;
  return true;
}

}  // namespace drybus::tools
