#include "tools/commands/watched_diagnosis.h"

#include <fmt/format.h>

#include <chrono>
#include <stdexcept>

#include "tools/base/interruptible.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace {

/// The share gone through so far, on a terminal.
class Progress {
 public:
  ~Progress() {
    if (shown_) print_err("\r\x1b[K");
  }
  void show(double explored) {
    if (!progress_wanted()) return;
    const auto now = std::chrono::steady_clock::now();
    if (now - last_ < std::chrono::milliseconds{200}) return;
    last_ = now;
    shown_ = true;
    print_err(
        fmt::format("\r\x1b[K{:.1f} % of what can go wrong gone through (Ctrl-C: the best answer so far)",
                    explored * 100));
  }

 private:
  std::chrono::steady_clock::time_point last_ = std::chrono::steady_clock::now();
  bool shown_ = false;
};

}  // namespace

model::Diagnosis diagnose_watched(const model::Report& report, const model::Catalogue& catalogue) {
  const Interruptible guard;
  Progress progress;
  model::DiagnosisBounds bounds;
  bounds.stop = &Interruptible::interrupted();
  bounds.progress = [&](double explored) { progress.show(explored); };
  try {
    return model::diagnose(report, catalogue, bounds);
  } catch (const std::length_error& error) {
    throw Unusable{error.what()};
  }
}

}  // namespace drybus::tools
