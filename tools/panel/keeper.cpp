#include "tools/panel/keeper.h"

#include <fmt/format.h>

#include "tools/base/output.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace {
constexpr RealTime while_it_plays = std::chrono::seconds{5};
constexpr RealTime at_most_every = std::chrono::seconds{1};
}  // namespace

void Keeper::look(Panel& panel, RealTime real) {
  if (!folder_ || panel.changes() == written_) return;
  if (real - written_at_ < (panel.bench().playing() ? while_it_plays : at_most_every)) return;
  written_at_ = real;
  write(panel);
}

void Keeper::write_last(Panel& panel) {
  if (folder_ && panel.changes() != written_) write(panel);
}

bool Keeper::write(Panel& panel) {
  KeptBench kept = panel.kept();
  kept.links = links_;
  try {
    write_file(kept_file(*folder_), kept_text(kept));
  } catch (const Unusable& why) {
    log_.error("the bench is not kept: {}", why.what());
    if (!failed_) {
      panel.tell_trainers(
          fmt::format("The bench is not kept any more ({}). Should the program end, what is done from now on "
                      "is lost.",
                      why.what()));
    }
    failed_ = true;
    return false;
  }
  if (failed_) panel.tell_trainers("The bench is kept again.");
  failed_ = false;
  written_ = panel.changes();
  return true;
}

}  // namespace drybus::tools
