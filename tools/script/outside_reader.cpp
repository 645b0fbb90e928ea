#include "tools/script/outside_reader.h"

#include <array>

#include "model/family/telegram.h"
#include "model/firmware/outside.h"
#include "model/words/words.h"
#include "tools/script/keys.h"
#include "tools/script/site_index.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

namespace {

using model::OutsideAct;
using Kind = OutsideAct::Kind;

constexpr std::size_t most_outside_steps = 200'000;

Words telegram_kinds() {
  static const auto all = [] {
    std::array<std::string_view, model::last_telegram_kind> names;
    for (std::uint8_t i = 0; i < names.size(); ++i)
      names[i] = to_string(static_cast<model::TelegramKind>(i + 1));
    return names;
  }();
  return all;
}

void read_telegram(Complaints& complaints, const Node& node, model::Telegram& into) {
  const Fields fields{complaints, node, msg_as("what", "a telegram"), keys::outside_telegram};
  if (node.kind != Node::Kind::map) return;
  if (const Node* kind = fields.need("kind")) {
    if (const auto choice =
            read_choice(complaints, *kind, msg_as("what", "kind of telegram"), telegram_kinds()))
      into.kind = static_cast<model::TelegramKind>(*choice + 1);
  }
  read_whole_into(complaints, fields.find("site"), into.site);
  read_whole_into(complaints, fields.find("zone"), into.zone);
  read_whole_into(complaints, fields.find("channel"), into.channel);
  read_whole_into(complaints, fields.find("argument"), into.argument);
}

void read_memory(Complaints& complaints, const Node& node, const Node* power_up, OutsideAct& act) {
  const Fields fields{complaints, node, msg_as("what", "a memory"), keys::outside_memory};
  if (node.kind != Node::Kind::map) return;
  read_whole_into(complaints, fields.need("site"), act.address.site);
  read_whole_into(complaints, fields.need("zone"), act.address.zone);
  read_whole_into(complaints, fields.need("channel"), act.address.channel);
  if (power_up == nullptr) return;
  if (const auto choice =
          read_choice(complaints, *power_up, msg_as("what", "power-up mode"), words::power_ups()))
    act.power_up = static_cast<model::PowerUp>(*choice);
}

template <class Enum>
void read_word(Complaints& complaints, const Node* node, std::string_view what, Words words, Enum& into) {
  if (node == nullptr) return;
  if (const auto choice = read_choice(complaints, *node, what, words)) into = static_cast<Enum>(*choice);
}

class StepsReader {
 public:
  StepsReader(Complaints& complaints, const model::Site& site, model::DeviceId device)
      : complaints_(complaints), site_(site), device_(device) {}

  void read(const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "a step of a device outside"), keys::outside_step};
    if (node.kind != Node::Kind::map) return;
    model::OutsideStep step;
    const Node* at = fields.need("at");
    sim::Duration after{};
    read_quantity_into(complaints_, at, parse_duration, after);
    step.at = sim::start_of_run + after;
    if (at != nullptr && !steps_.empty() && step.at < steps_.back().at)
      complaints_.add(at->place, tr("it is before the step above"), tr("steps in order of time"));
    read_act(fields, node, step.act);
    if (const std::string why = model::why_not(site_, device_, step.act); !why.empty())
      complaints_.add(node.place, tr("{} cannot do that: {}", site_.name(device_), why));
    steps_.push_back(step);
  }

  [[nodiscard]] std::vector<model::OutsideStep> take() { return std::move(steps_); }

 private:
  void read_act(const Fields& fields, const Node& node, OutsideAct& act) {
    static constexpr std::array<std::string_view, 5> acts = {"send", "show", "level", "mode", "stored"};
    const Node* found = nullptr;
    std::size_t which = 0;
    for (std::size_t i = 0; i < acts.size(); ++i) {
      const Node* here = fields.find(acts[i]);
      if (here == nullptr) continue;
      if (found != nullptr) complaints_.add(here->place, tr("a step is one thing that the device did"));
      found = here;
      which = i;
    }
    if (found == nullptr) {
      if (!fields.has_unknown())
        complaints_.add(node.place, tr("nothing is said of what it did"),
                        tr("one of: send, show, level, mode, stored"));
      return;
    }
    act.kind = static_cast<Kind>(which);
    read_value(fields, *found, act);
  }

  void read_value(const Fields& fields, const Node& value, OutsideAct& act) {
    switch (act.kind) {
      case Kind::send:
        return read_telegram(complaints_, value, act.telegram);
      case Kind::show:
        return read_word(complaints_, &value, msg_as("what", "pattern"), words::patterns(), act.pattern);
      case Kind::level:
        read_quantity_into(complaints_, &value, parse_percent, act.level);
        return read_quantity_into(complaints_, fields.find("within"), parse_duration, act.within);
      case Kind::mode:
        read_word(complaints_, &value, msg_as("what", "mode"), words::modes(), act.mode);
        return read_word(complaints_, fields.find("because"), msg_as("what", "reason"), mode_reasons(),
                         act.reason);
      case Kind::stored:
        return read_memory(complaints_, value, fields.find("power_up"), act);
    }
  }

  Complaints& complaints_;
  const model::Site& site_;
  model::DeviceId device_;
  std::vector<model::OutsideStep> steps_;
};

static_assert(static_cast<int>(Kind::send) == 0 && static_cast<int>(Kind::show) == 1 &&
              static_cast<int>(Kind::level) == 2 && static_cast<int>(Kind::mode) == 3 &&
              static_cast<int>(Kind::stored) == 4);

}  // namespace

Words mode_reasons() {
  static constexpr std::array<std::string_view, 5> all = {"gesture", "button", "time_out", "assigned",
                                                          "power"};
  static_assert(all.size() == static_cast<std::size_t>(model::ModeReason::power) + 1);
  return all;
}

void read_outside(const Node& node, model::Scenario& scenario, Complaints& complaints) {
  if (!is_kind(complaints, node, Node::Kind::map, "outside")) return;
  if (node.entries.size() != 1) {
    complaints.add(node.place, tr("one device of a site may be outside"), tr("its name, and its steps"));
    return;
  }
  const Node::Entry& entry = node.entries[0];
  const SiteIndex index{scenario.site, complaints};
  const auto device = index.device(entry.key->place, entry.key->text);
  if (!device || !is_kind(complaints, *entry.value, Node::Kind::list, msg_as("what", "its steps"))) return;
  if (entry.value->items.size() > most_outside_steps) {
    complaints.add(entry.value->place, tr("more than {} steps", most_outside_steps));
    return;
  }
  StepsReader steps{complaints, scenario.site, *device};
  for (const Node* item : entry.value->items) steps.read(*item);
  scenario.site.logic = std::make_shared<model::OutsideLogic>(*device, steps.take());
}

}  // namespace drybus::tools
