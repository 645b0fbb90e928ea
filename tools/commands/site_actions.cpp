#include "tools/commands/site_actions.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/trimmed.h"
#include "tools/base/utf8.h"
#include "tools/script/lesson.h"
#include "tools/script/told_words.h"

namespace drybus::tools {

using model::tr;

using model::SiteAction;
using model::Step;

namespace {

constexpr std::size_t longest_belief = 400;  ///< bytes

struct Word {
  std::string_view said;
  SiteAction::Kind kind;
};
constexpr std::array plain_words = {
    Word{"look", SiteAction::Kind::look},         Word{"isolate", SiteAction::Kind::isolate},
    Word{"lock off", SiteAction::Kind::lock_off}, Word{"prove dead", SiteAction::Kind::prove_dead},
    Word{"restore", SiteAction::Kind::restore},
};
constexpr std::array<std::string_view, 14> all_words = {
    "look",       "walk",    "press", "hold",      "wait", "isolate",   "lock off",
    "prove dead", "restore", "set",   "make good", "free", "reconnect", "believe"};

std::vector<std::string> own_devices(const model::Site& site, bool plates) {
  std::vector<std::string> names;
  for (model::DeviceId device = 0; device < site.device_count(); ++device) {
    if (site.is_plate(device) == plates && !site.is_neighbour(device)) names.push_back(site.name(device));
  }
  return names;
}

Quantity<model::DeviceId> own_device(const model::Site& site, std::string_view name, bool plate) {
  const auto device = site.find_device(name);
  if (device && site.is_plate(*device) == plate && !site.is_neighbour(*device)) return *device;
  const auto names = own_devices(site, plate);
  return QuantityError{
      plate ? tr("no plate of ours is called '{}'", name) : tr("no module of ours is called '{}'", name),
      one_of(names), nearest(name, names)};
}

SiteAction work(Step step, const std::string& written) {
  return {SiteAction::Kind::work, {std::move(step)}, written};
}

Quantity<SiteAction> set_switches(const model::Site& site, std::string_view rest,
                                  const std::string& written) {
  const std::string_view name = rest.substr(0, rest.find(' '));
  const auto plate = own_device(site, name, true);
  if (!plate) return plate.error();
  const auto numbers = parse_switches(&site.family_of(*plate), trimmed(rest.substr(name.size())));
  if (!numbers) return numbers.error();
  Step step;
  step.kind = model::StepKind::switches;
  step.device = *plate;
  step.site = (*numbers).first;
  step.zone = (*numbers).second;
  return work(std::move(step), written);
}

Quantity<SiteAction> make_good(const model::Site& site, std::string_view name, const std::string& written) {
  std::vector<std::string> links;
  for (std::uint32_t link = 0; link < site.network.links.size(); ++link)
    links.push_back(site.link_name(link));
  const auto link = site.find_link(name);
  if (!link) return QuantityError{tr("there is no link '{}'", name), one_of(links), nearest(name, links)};
  Step step;
  step.kind = model::StepKind::fault;
  step.fault.kind = model::FaultKind::mend;
  step.fault.link = *link;
  return work(std::move(step), written);
}

Quantity<SiteAction> free_button(const model::Scenario& scenario, std::string_view rest,
                                 const std::string& written) {
  const auto pushed = parse_hands(scenario, fmt::format("press {}", rest));
  if (!pushed) return pushed.error();
  Step step;
  step.kind = model::StepKind::fault;
  step.fault.kind = model::FaultKind::freed;
  step.fault.device = (*pushed).front().device;
  for (model::Button button = 0; button < 32; ++button) {
    if (((*pushed).front().buttons >> button & 1u) != 0) step.fault.button = button;
  }
  return work(std::move(step), written);
}

/// A device without supply: its joint is made good. It comes on with the others.
Quantity<SiteAction> reconnect(const model::Site& site, std::string_view name, const std::string& written) {
  const auto plate = own_device(site, name, true);
  const auto device = plate ? plate : own_device(site, name, false);
  if (!device) return device.error();
  Step step;
  step.kind = model::StepKind::power;
  step.device = *device;
  step.on = true;
  return work(std::move(step), written);
}

}  // namespace

Quantity<SiteAction> parse_site_action(const model::Scenario& scenario, const std::string& written) {
  const std::string_view text = trimmed(written);
  if (first_bad_character(text)) return QuantityError{tr("this is no plain text"), "", ""};
  for (const Word& word : plain_words) {
    if (text == word.said) return SiteAction{word.kind, {}, std::string{text}};
  }
  const std::string_view verb = text.substr(0, text.find(' '));
  const std::string_view rest = trimmed(text.substr(verb.size()));
  const std::string said{text};
  if (verb == "believe") {
    if (rest.empty() || rest.size() > longest_belief)
      return QuantityError{tr("what do you believe?"), tr("a sentence, such as believe M2 has no address"),
                           ""};
    return SiteAction{SiteAction::Kind::believe, {}, std::string{rest}};
  }
  if (verb == "set") return set_switches(scenario.site, rest, said);
  if (verb == "make" && rest.starts_with("good "))
    return make_good(scenario.site, trimmed(rest.substr(5)), said);
  if (verb == "free") return free_button(scenario, rest, said);
  if (verb == "reconnect") return reconnect(scenario.site, rest, said);
  if (verb == "walk" || verb == "press" || verb == "hold" || verb == "wait") {
    const auto steps = parse_hands(scenario, said);
    if (!steps) return steps.error();
    return SiteAction{SiteAction::Kind::hands, *steps, said};
  }
  return QuantityError{tr("nobody can do '{}' here", characters(text, 0, 40)), one_of(all_words),
                       nearest(verb, all_words)};
}

std::string site_actions_text(const model::Scenario& scenario) {
  const model::Site& site = scenario.site;
  const auto plates = own_devices(site, true);
  const std::string plate = plates.empty() ? "P1" : plates.front();
  return tr(
      "  look                    what shows where you stand\n"
      "  walk PLACE              {}\n"
      "  press {} BUTTON         {}; of a module its one button\n"
      "  hold {} BUTTON for 3s   two buttons together: hold {} one two for 3s\n"
      "  wait 10s\n"
      "  believe ...             what you think is wrong; it stands beside the truth afterwards\n"
      "  isolate, lock off, prove dead    in this order, before any cover comes off\n"
      "  set {} 23/4             a plate's switches; make good P1-M1; free {} BUTTON; reconnect M1\n"
      "  restore                 covers on, lock off, supply on\n"
      "  done                    you are sure that all is right\n",
      [&] {
        std::string names;
        for (const model::Place& place : site.places) names += (names.empty() ? "" : ", ") + place.name;
        return names;
      }(),
      plate, fmt::format("{}", one_of(site.family.plate.buttons)), plate, plate, plate, plate);
}

}  // namespace drybus::tools
