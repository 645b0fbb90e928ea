#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/findings/findings.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/wrap.h"
#include "tools/view/handover_report.h"
#include "tools/view/plan_words.h"

namespace drybus::tools {

namespace json = boost::json;
using model::DeviceId;
using model::plural;
using model::RoundAct;
using model::tr;

namespace {

class LineWriter {
 public:
  explicit LineWriter(const HandoverReport& report)
      : report_(report), site_(report.built.site), scenario_(report.round.trial.scenario) {}

  std::vector<HandoverLine> write() {
    for (std::uint32_t act = 0; act < report_.round.acts.size(); ++act) {
      HandoverLine line;
      line.act = act;
      line.checks = checks_of(act);
      line.place = place_of(report_.round.acts[act]);
      line.todo = todo(report_.round.acts[act]);
      line.seen = seen(report_.round.acts[act], line.checks);
      if (!line.seen.empty()) line.number = ++number_;
      lines_.push_back(std::move(line));
    }
    return std::move(lines_);
  }

 private:
  [[nodiscard]] std::vector<std::uint32_t> checks_of(std::uint32_t act) const {
    std::vector<std::uint32_t> checks;
    for (const model::RoundLook& look : report_.round.trial.looks) {
      if (look.act == act) checks.push_back(look.check);
    }
    return checks;
  }

  [[nodiscard]] std::string place_of(const RoundAct& act) const {
    if (act.kind == RoundAct::Kind::power_cut) return tr("At the board");
    if (act.kind == RoundAct::Kind::look) return site_.places[act.from].name;
    return site_.places[site_.place(act.plate)].name;
  }

  [[nodiscard]] std::string titled(DeviceId device) const {
    return site_.title(device) == site_.name(device)
               ? site_.name(device)
               : fmt::format("{} ({})", site_.title(device), site_.name(device));
  }
  [[nodiscard]] std::string button(DeviceId plate, model::Button which) const {
    return site_.plate_family(plate).name_of(which);
  }

  /// What is added to an act whose effect is seen in another room.
  [[nodiscard]] std::string looked_at_elsewhere(const RoundAct& act) const {
    if (act.helper_at != model::no_place)
      return tr("; somebody in {} looks on and calls", site_.places[act.helper_at].name);
    if (act.plate != model::no_device && act.from != site_.place(act.plate))
      return tr(", and go to {}", site_.places[act.from].name);
    return {};
  }

  [[nodiscard]] std::string todo(const RoundAct& act) const {
    const std::string elsewhere = looked_at_elsewhere(act);
    switch (act.kind) {
      case RoundAct::Kind::power_cut:
        return tr("Switch the supply of everything off, count to {}, and switch it on again.",
                  model::off_for / std::chrono::seconds{1});
      case RoundAct::Kind::look:
        return act.plate == model::no_device ? tr("Look round before anything is pressed here.")
                                             : tr("Look on in {}.", site_.places[act.from].name);
      case RoundAct::Kind::enter:
        return tr("Hold {} of {} for {}.", gesture_text(site_.plate_family(act.plate)), titled(act.plate),
                  model::duration_text(site_.setup_hold(act.plate)));
      case RoundAct::Kind::channel:
        return tr("Press {} once: channel {}{}.", button(act.plate, model::channel_button(site_, act)),
                  act.channel, elsewhere);
      case RoundAct::Kind::leave:
        return tr("Press {}: the plate leaves setup.",
                  button(act.plate, site_.plate_family(act.plate).leave));
      case RoundAct::Kind::key:
        return tr("Press {} of {} briefly{}.", button(act.plate, act.button), titled(act.plate), elsewhere);
      case RoundAct::Kind::restore:
        return tr("Press {} of {} briefly.", button(act.plate, act.button), titled(act.plate));
    }
    return {};
  }

  [[nodiscard]] std::string seen(const RoundAct& act, const std::vector<std::uint32_t>& checks) const {
    if (checks.empty()) return {};
    if (act.kind == RoundAct::Kind::enter) return tr("The plate's lamp blinks.");
    if (act.kind == RoundAct::Kind::channel) return flashes(checks);
    const std::string& first = scenario_.checks[checks.front()].wanted.front();
    const bool alike = std::all_of(checks.begin(), checks.end(), [&](std::uint32_t check) {
      return scenario_.checks[check].wanted.front() == first;
    });
    if (alike && checks.size() > 1) return tr("All {} loads here are {}.", checks.size(), level_text(first));
    std::vector<std::string> parts;
    for (const std::uint32_t check : checks) {
      const model::Check& look = scenario_.checks[check];
      parts.push_back(fmt::format("{}: {}", titled(look.device), level_text(look.wanted.front())));
    }
    return fmt::format("{}.", fmt::join(parts, "; "));
  }

  [[nodiscard]] static std::string level_text(const std::string& wanted) {
    if (wanted == "100 %") return tr("fully lit");
    return wanted == "dark" ? tr("dark") : tr("lit at about {}", model::with_decimal_mark(wanted));
  }

  [[nodiscard]] std::string flashes(const std::vector<std::uint32_t>& checks) const {
    std::vector<std::string> names;
    for (const std::uint32_t check : checks) {
      const model::Check& look = scenario_.checks[check];
      if (look.wanted.front() != "dark") names.push_back(titled(look.device));
    }
    if (names.empty()) return tr("Nothing flashes here.");
    const std::string all = fmt::format("{}", fmt::join(names, ", "));
    return checks.size() > names.size()
               ? plural("{} flashes, and nothing else.", "{} flashes, and nothing else.", names.size(), all)
               : plural("{} flashes.", "{} flashes.", names.size(), all);
  }

  const HandoverReport& report_;
  const model::Site& site_;
  const model::Scenario& scenario_;
  std::vector<HandoverLine> lines_;
  std::uint32_t number_ = 0;
};

std::string names_of(const model::Site& site, const std::vector<DeviceId>& devices) {
  std::vector<std::string> names;
  for (const DeviceId device : devices) names.push_back(site.title(device));
  return fmt::format("{}", fmt::join(names, ", "));
}

/// "house of P1 (off whole site)", one after another.
std::string far_keys_left_out(const HandoverReport& report) {
  const model::Site& site = report.built.site;
  std::vector<std::string> keys;
  for (const auto& [plate, key] : report.proof.far_unpressed) {
    const model::PlateFamily& family = site.plate_family(plate);
    keys.push_back(tr("{} of {} ({})", family.name_of(key), site.title(plate), spoken(family.press[key])));
  }
  return fmt::format("{}", fmt::join(keys, ", "));
}

std::vector<DeviceId> left_alone(const HandoverReport& report) {
  std::vector<DeviceId> devices;
  const model::Site& site = report.built.site;
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (site.modules[i].do_not_switch) devices.push_back(site.module_id(i));
  }
  return devices;
}

bool needs_helper(const HandoverReport& report) {
  return std::any_of(report.round.acts.begin(), report.round.acts.end(),
                     [](const RoundAct& act) { return act.helper_at != model::no_place; });
}

std::string untold_text(const std::vector<model::Untold>& untold, std::size_t most) {
  std::string text;
  for (std::size_t i = 0; i < std::min(untold.size(), most); ++i) {
    text += paragraph(untold[i].text, 110, "    - ", "      ");
  }
  if (untold.size() > most) text += "    " + tr("and {} more", untold.size() - most) + "\n";
  return text;
}

}  // namespace

std::string about_text(sim::Duration duration) {
  const std::int64_t seconds = duration.count() / 1'000'000'000;
  if (seconds < 90) return tr("about {} s", (seconds + 5) / 10 * 10);
  return tr("about {} min", (seconds + 30) / 60);
}

std::vector<HandoverLine> handover_lines(const HandoverReport& report) {
  return LineWriter{report}.write();
}

std::vector<std::string> handover_cautions(const HandoverReport& report) {
  std::vector<std::string> cautions;
  if (report.built.may_lose_power()) {
    cautions.push_back(
        tr("Every load of the site goes on and off on this round. Before it begins, see that nobody is on a "
           "ladder or a stair, and that nothing which a load drives can start or stop to anybody's harm. A "
           "load that must not be switched is marked in the site with do_not_switch."));
    cautions.push_back(
        tr("The supply is switched at the board by whoever may do that there. No cover is opened on this "
           "round."));
  } else {
    cautions.push_back(
        tr("Every load of the site, but for those named below, goes on and off on this round. Before it "
           "begins, see that nobody is on a ladder or a stair, and that nothing which a load drives can "
           "start or stop to anybody's harm. A load that must not be switched is marked in the site with "
           "do_not_switch."));
    cautions.push_back(tr(
        "Not to be switched: {}. So the supply stays on, no key of {} is pressed, and the channels there are "
        "stepped "
        "through only as far as none of these would flash.",
        names_of(report.built.site, left_alone(report)),
        names_of(report.built.site, report.proof.keys_unpressed)));
    cautions.push_back(tr("That a power cut is survived is not proved."));
  }
  if (const std::string keys = far_keys_left_out(report); !keys.empty()) {
    cautions.push_back(
        tr("Keys for more than their own zone that are not on this round: {}. Who presses one sees "
           "first whom it reaches.",
           keys));
  }
  if (needs_helper(report))
    cautions.push_back(
        tr("Two people are needed: some loads cannot be seen from the plate that makes them flash."));
  cautions.push_back(std::string{model::in_words_spoken(model::safety_caution)});
  return cautions;
}

namespace {
std::string tried_text(const HandoverReport& report) {
  const model::RoundChoice& proof = report.proof;
  if (report.parts > 1)
    return tr(
        "{} slips and faults of the catalogue were put in the work and run to its end, zone by zone ({} "
        "of them): {} leave all as it should be, the others come to {} ways of being wrong. The round "
        "tells {} of these from the right one.",
        proof.causes, report.parts, proof.harmless, proof.outcomes, proof.told);
  return tr(
      "{} slips and faults of the catalogue were put in the work and run to its end: {} leave all as it "
      "should be, the others come to {} ways of being wrong. The round tells {} of these from the right "
      "one.",
      proof.causes, proof.harmless, proof.outcomes, proof.told);
}
}  // namespace

std::vector<std::string> proof_sentences(const HandoverReport& report) {
  const model::RoundChoice& proof = report.proof;
  std::vector<std::string> sentences;
  sentences.push_back(tried_text(report));
  if (proof.skipped > 0)
    sentences.push_back(tr("{} less likely ones were not run (--slips).", proof.skipped));
  if (proof.doubles_possible > 0) {
    sentences.push_back(
        tr("Two at once: of {} pairs the likeliest were run; {} leave something wrong, and {} of "
           "these are told.",
           proof.doubles_possible, proof.doubles, proof.doubles_told));
  }
  sentences.push_back(
      proof.proved
          ? tr("Of the {} tests that the site allows, no cheaper choice tells as much.", proof.tests_possible)
          : tr("The choice among the {} tests that the site allows is a good one; that "
               "none is cheaper is not proved.",
               proof.tests_possible));
  return sentences;
}

std::string handover_text(const HandoverReport& report) {
  std::string text = tr("{}: the round that proves it right\n", report.plan.name);
  text +=
      tr("It takes {}; pressing everything and looking everywhere, before and after a power cut, would take "
         "{}.\n\n",
         about_text(report.round.takes), about_text(report.everything));
  for (const std::string& caution : handover_cautions(report))
    text += paragraph(caution, 110, "  ! ", "    ");
  std::string place;
  for (const HandoverLine& line : report.lines) {
    if (line.place != place) text += fmt::format("\n{}\n", line.place);
    place = line.place;
    const std::string box = line.number > 0 ? fmt::format("  [ ] {:>3}. ", line.number) : "           ";
    text += paragraph(line.seen.empty() ? line.todo : fmt::format("{} -> {}", line.todo, line.seen), 110, box,
                      "           ");
  }
  text += "\n" +
          tr("Site in order: ____________________   Date: ______________   Signed: ____________________") +
          "\n\n" + tr("What it proves") + "\n";
  for (const std::string& sentence : proof_sentences(report)) text += paragraph(sentence, 110, "  ", "  ");
  if (!report.proof.untold.empty()) {
    text += paragraph(tr("What no round of presses and looks can tell ({}):", report.proof.untold.size()),
                      110, "  ", "  ");
    text += untold_text(report.proof.untold, 8);
  }
  if (!report.proof.doubles_untold.empty()) {
    text += paragraph(tr("Pairs that it does not tell ({}):", report.proof.doubles_untold.size()), 110, "  ",
                      "  ");
    text += untold_text(report.proof.doubles_untold, 4);
  }
  return text;
}

std::string handover_json(const HandoverReport& report) {
  json::array lines, untold, cautions;
  for (const HandoverLine& line : report.lines) {
    lines.push_back(json::object{{"number", line.number == 0 ? json::value{} : json::value(line.number)},
                                 {"place", line.place},
                                 {"do", line.todo},
                                 {"see", line.seen}});
  }
  for (const model::Untold& each : report.proof.untold)
    untold.push_back(json::object{{"text", each.text}, {"chance", each.chance}});
  for (const std::string& caution : handover_cautions(report)) cautions.push_back(json::value(caution));
  const auto seconds = [](sim::Duration duration) { return static_cast<double>(duration.count()) / 1e9; };
  const model::RoundChoice& proof = report.proof;
  const json::object object{{"site", report.plan.name},
                            {"takes_s", seconds(report.round.takes)},
                            {"everything_s", seconds(report.everything)},
                            {"power_cut", report.built.may_lose_power()},
                            {"minimum_proved", proof.proved},
                            {"slips", proof.causes},
                            {"slips_not_run", proof.skipped},
                            {"harmless", proof.harmless},
                            {"outcomes", proof.outcomes},
                            {"told", proof.told},
                            {"untold", std::move(untold)},
                            {"pairs_possible", proof.doubles_possible},
                            {"pairs", proof.doubles},
                            {"pairs_told", proof.doubles_told},
                            {"cautions", std::move(cautions)},
                            {"lines", std::move(lines)}};
  return json_text(object) + "\n";
}

}  // namespace drybus::tools
