#include "model/diagnosis/as_told.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <optional>
#include <vector>

#include "model/words/words.h"

namespace drybus::model {

namespace {

/// Of more modules than these nobody wants a list.
constexpr std::size_t most_told = 3;

class Procedure {
 public:
  explicit Procedure(const Report& report)
      : site_(report.believed.site), script_(report.believed.people.front().script) {}

  /// Why a module does not hold what it is meant to, as far as the steps say so; it holds `held`.
  [[nodiscard]] std::string why(DeviceId module, const ModuleMemory& held, const Address& intended) const {
    const std::string& name = site_.name(module);
    if (held.addressed())
      return tr("{} holds {} instead of {}", name, to_string(held.address), to_string(intended));
    const auto waits = first_hold(module);
    if (!waits) return tr("nobody put {} in setup: it has no address", name);
    if (const auto offered = first_offer(); offered && !offer_after(*waits))
      return tr("{} was pressed before {} was put in setup: it has no address", assign(), name);
    if (!first_offer()) return tr("{} was put in setup, and nothing was offered to it", name);
    return tr("nothing was offered to {} while it waited for an address", name);
  }

 private:
  [[nodiscard]] std::optional<std::size_t> first_hold(DeviceId module) const {
    for (std::size_t i = 0; i < script_.size(); ++i) {
      if (script_[i].kind == StepKind::hold && script_[i].device == module &&
          script_[i].duration >= site_.family.module.setup_hold)
        return i;
    }
    return std::nullopt;
  }
  [[nodiscard]] bool is_offer(const Step& step) const {
    return step.kind == StepKind::press && site_.is_plate(step.device) &&
           step.buttons == only(site_.family.plate.assign);
  }
  [[nodiscard]] std::optional<std::size_t> first_offer() const {
    for (std::size_t i = 0; i < script_.size(); ++i) {
      if (is_offer(script_[i])) return i;
    }
    return std::nullopt;
  }
  [[nodiscard]] bool offer_after(std::size_t step) const {
    for (std::size_t i = step; i < script_.size(); ++i) {
      if (is_offer(script_[i])) return true;
    }
    return false;
  }
  [[nodiscard]] std::string assign() const { return site_.family.plate.name_of(site_.family.plate.assign); }

  const Site& site_;
  const std::vector<Step>& script_;
};

}  // namespace

std::string as_told(const Report& report, const World& end) {
  const Site& site = report.believed.site;
  const Procedure procedure{report};
  std::vector<std::string> left;
  std::size_t more = 0;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const ModuleSpec& spec = site.modules[i];
    const ModuleMemory& held = end.modules[i].memory;
    if (!spec.intended || spec.neighbour || held.address == *spec.intended) continue;
    if (left.size() == most_told) {
      ++more;
    } else {
      left.push_back(procedure.why(site.module_id(i), held, *spec.intended));
    }
  }
  if (left.empty()) return tr("all went as told");
  return tr("all went as told, and as told {}{}", fmt::format("{}", fmt::join(left, "; ")),
            more > 0 ? plural("; {} more have none or a wrong one", "; {} more have none or a wrong one",
                              more, more)
                     : std::string{});
}

}  // namespace drybus::model
