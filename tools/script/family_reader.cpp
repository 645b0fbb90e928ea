#include "tools/script/family_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>

#include "model/devices/machine_check.h"
#include "model/family/usual_machine.h"
#include "model/words/words.h"
#include "sim/clock.h"
#include "tools/base/utf8.h"
#include "tools/script/family_parts.h"
#include "tools/script/keys.h"
#include "tools/script/machine_reader.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

namespace {

using model::Button;
using model::Buttons;
using model::Command;
using model::Family;

constexpr std::array<std::string_view, 2> counted_from_words = {"entry", "last press"};
constexpr std::array<std::string_view, 2> bus_kind_words = {"line", "radio"};
constexpr std::array<std::string_view, 7> command_words = {"nothing", "on",    "off",  "recall N",
                                                           "store N", "raise", "lower"};
constexpr std::array<std::string_view, 2> factory_scenes_words = {"levels", "none"};

constexpr std::array<std::string_view, 2> torn_write_words = {"factory", "before"};
constexpr std::array<std::string_view, 4> kept_words = {"address", "scenes", "power-up", "last level"};
constexpr std::array kept_parts = {&model::Memory::address, &model::Memory::scenes, &model::Memory::power_up,
                                   &model::Memory::last_level};

/// A month: no time of a device is longer.
constexpr sim::Duration longest = std::chrono::hours{24 * 31};
constexpr double most_watts = 100'000;
constexpr sim::Duration longest_slot = std::chrono::hours{1};

class FamilyReader {
 public:
  FamilyReader(const Node& root, Complaints& complaints) : root_(root), complaints_(complaints) {}

  std::optional<Family> read(std::string name) {
    const std::size_t before = complaints_.count();
    family_.name = harmless(name);
    const Fields fields{complaints_, root_, msg_as("what", "a family"), keys::family};
    check_version(fields, "drybus-family", complaints_);
    if (const Node* about = fields.find("about")) family_.about = read_text(complaints_, *about).value_or("");
    // The module comes first: how many scenes it has decides which ones a plate's buttons can name.
    if (const Node* node = fields.need("module")) read_module(*node);
    if (const Node* node = fields.need("plate")) read_plate(*node);
    if (const Node* node = fields.need("indicator")) read_indicator(*node);
    if (const Node* node = fields.need("contacts")) read_contacts(*node);
    family_.clock_tolerance_ppb = sim::quartz_tolerance_ppb;
    if (const Node* node = fields.find("clock")) family_.clock_tolerance_ppb = read_clock(*node, complaints_);
    if (const Node* node = fields.need("bus")) read_bus(*node);
    if (complaints_.count() == before) check_whole();
    if (complaints_.count() == before) check_machines();
    if (complaints_.count() != before) return std::nullopt;
    return family_;
  }

 private:
  void time(const Node* node, sim::Duration& into, sim::Duration most = longest) {
    const std::size_t before = complaints_.count();
    read_some_time_into(complaints_, node, into);
    limit(node, into, most, before);
  }

  /// A time that may be none.
  void time_or_none(const Node* node, sim::Duration& into) {
    const std::size_t before = complaints_.count();
    read_quantity_into(complaints_, node, parse_duration, into);
    limit(node, into, longest, before);
  }

  void limit(const Node* node, sim::Duration value, sim::Duration most, std::size_t before) {
    if (node == nullptr || complaints_.count() != before || value <= most) return;
    complaints_.add(node->place, tr("longer than {}", exact_duration(most)));
  }

  void read_time_out(const Fields& fields, model::TimeOut& into) {
    time(fields.need("time_out"), into.after);
    if (const Node* node = fields.need("counted_from")) {
      const auto choice = read_choice(complaints_, *node, msg_as("what", "moment"), counted_from_words);
      if (choice) into.from = *choice == 0 ? model::CountedFrom::entry : model::CountedFrom::last_press;
    }
  }

  void read_indicator(const Node& node) {
    const Fields fields{complaints_, node, "indicator", keys::indicator};
    time(fields.need("identify"), family_.indicator.identify);
    time(fields.need("refuse"), family_.indicator.refuse);
    time(fields.need("breathe"), family_.indicator.breathe);
    time(fields.need("blip"), family_.indicator.blip);
    time(fields.need("blips_sleep"), family_.indicator.blips_sleep);
  }

  void read_contacts(const Node& node) {
    const Fields fields{complaints_, node, "contacts", keys::contacts};
    time(fields.need("debounce"), family_.debounce);
    time(fields.need("stuck_after"), family_.stuck_after);
  }

  // --- the module ---

  void read_module(const Node& node) {
    model::ModuleFamily& module = family_.module;
    const Fields fields{complaints_, node, "module", keys::family_module};
    const Node* button = fields.find("button");
    if (button != nullptr) module.button = read_name(*button).value_or("");
    if (const Node* setup = fields.need("setup")) read_module_setup(*setup, button != nullptr);
    if (const Node* node_of_ask = fields.find("ask")) time(node_of_ask, module.ask);
    if (const Node* node_of_confirm = fields.find("confirm")) time(node_of_confirm, module.confirm);
    time(fields.need("store"), module.store);
    time(fields.need("flash"), module.flash);
    time_or_none(fields.need("fade"), module.fade);
    time(fields.need("full_range"), module.full_range);
    read_whole_into(complaints_, fields.need("scenes"), module.scenes, 1, model::max_scenes);
    read_whole_into(complaints_, fields.find("group"), module.group, 1, 255);
    if (const Node* factory = fields.need("factory")) read_factory(*factory);
    if (const Node* memory = fields.find("memory")) read_memory(*memory);
    if (const Node* ratings = fields.find("ratings")) read_ratings(*ratings);
    const Node* machine = fields.find("machine");
    module.machine =
        machine == nullptr ? model::usual_module_machine() : read_machine(*machine, false, complaints_);
  }

  /// A hold of the button, or the supply coming on so many times.
  void read_module_setup(const Node& node, bool has_button) {
    model::ModuleFamily& module = family_.module;
    const Fields fields{complaints_, node, "setup", keys::family_module_setup};
    const Node* supply = fields.find("supply");
    if (supply != nullptr) {
      const Fields gesture{complaints_, *supply, "supply", keys::supply_gesture};
      read_whole_into(complaints_, gesture.need("times"), module.supply_gesture.times, 2, 20);
      time(gesture.need("on_for"), module.supply_gesture.on_for);
    }
    const Node* hold = fields.find("for");
    if (hold != nullptr && !has_button) {
      complaints_.add(hold->place, tr("there is no 'button' that could be held"),
                      tr("'button', or 'supply' for setup"));
    } else if (hold != nullptr) {
      time(hold, module.setup_hold);
    } else if (supply == nullptr) {
      complaints_.add(node.place, tr("nothing leads to setup"), tr("'for' with a 'button', or 'supply'"));
    }
    read_time_out(fields, module.time_out);
  }

  void read_ratings(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::map, "ratings")) return;
    for (const Node::Entry& entry : node.entries) {
      const auto method = read_choice(complaints_, *entry.key, msg_as("what", "dimming"), words::dimmings());
      const Fields fields{complaints_, *entry.value, msg_as("what", "a rating"), keys::rating};
      model::LoadRating rating;
      read_with_unit_into(complaints_, fields.need("least"), "W", 0, most_watts, rating.least_w);
      read_with_unit_into(complaints_, fields.need("most"), "W", rating.least_w, most_watts, rating.most_w);
      if (!method) continue;
      rating.method = static_cast<model::Dimming>(*method);
      family_.module.ratings.push_back(rating);
    }
  }

  void read_factory(const Node& node) {
    const Fields fields{complaints_, node, "factory", keys::factory};
    factory_site_ = fields.need("site");
    read_whole_into(complaints_, factory_site_, family_.module.factory_site);
    if (const Node* power_up = fields.need("power_up")) {
      const auto choice =
          read_choice(complaints_, *power_up, msg_as("what", "power-up mode"), words::power_ups());
      if (choice) family_.module.factory_power_up = static_cast<model::PowerUp>(*choice);
    }
    if (const Node* scenes = fields.find("scenes")) {
      const auto choice =
          read_choice(complaints_, *scenes, msg_as("what", "state of scenes"), factory_scenes_words);
      if (choice) family_.module.factory_scenes = *choice == 0;
    }
  }

  void read_memory(const Node& node) {
    const Fields fields{complaints_, node, "memory", keys::memory};
    model::Memory& memory = family_.module.memory;
    const Node* keeps = fields.find("keeps");
    if (keeps != nullptr && is_kind(complaints_, *keeps, Node::Kind::list, "keeps")) {
      for (bool model::Memory::*part : kept_parts) memory.*part = false;
      for (const Node* item : keeps->items) {
        const auto choice = read_choice(complaints_, *item, msg_as("what", "part of memory"), kept_words);
        if (choice) memory.*kept_parts[*choice] = true;
      }
      if (!memory.address)
        complaints_.add(keeps->place, tr("a module that forgets its address"), tr("'address' among them"));
    }
    if (const Node* torn = fields.find("torn_write")) {
      const auto choice = read_choice(complaints_, *torn, msg_as("what", "end of a write"), torn_write_words);
      if (choice) memory.torn_write = static_cast<model::TornWrite>(*choice);
    }
  }

  // --- the plate ---

  void read_plate(const Node& node) {
    model::PlateFamily& plate = family_.plate;
    const Fields fields{complaints_, node, "plate", keys::family_plate};
    if (const Node* buttons = fields.need("buttons")) read_buttons(*buttons);
    if (const Node* bank = fields.need("site_switches")) read_bank(*bank, plate.site_switches);
    if (const Node* bank = fields.need("zone_switches")) read_bank(*bank, plate.zone_switches);
    read_whole_into(complaints_, fields.need("channels"), plate.channels, 1, 255);
    long_press_ = fields.need("long_press");
    time(long_press_, plate.long_press);
    if (plate.buttons.empty()) return;  // nothing below could be told right from wrong
    const Node* machine = fields.find("machine");
    own_machine_ = machine != nullptr;
    if (const Node* setup = fields.need("setup")) read_setup(*setup);
    if (const Node* normal = fields.need("normal")) read_normal(*normal);
    if (machine != nullptr) plate.machine = read_machine(*machine, true, complaints_);
    if (machine == nullptr) plate.machine = model::usual_plate_machine(announces_leaving_.value_or(false));
    if (machine != nullptr && announces_leaving_) {
      complaints_.add(machine->place,
                      tr("'announces_leaving' goes with a family that says nothing of its machine"),
                      tr("'send left' on exit from a state"));
    }
  }

  std::optional<std::string> read_name(const Node& node) {
    auto text = read_text(complaints_, node);
    if (!text || is_name(*text)) return text;
    complaints_.add(node.place, tr("'{}' cannot name a button", *text),
                    tr("letters, digits and underscores, a letter first"));
    return std::nullopt;
  }

  void read_buttons(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::list, "buttons")) return;
    for (const Node* item : node.items) {
      const auto name = read_name(*item);
      if (!name) continue;
      std::vector<std::string>& buttons = family_.plate.buttons;
      if (std::find(buttons.begin(), buttons.end(), *name) != buttons.end()) {
        complaints_.add(item->place, tr("there are two buttons '{}'", *name));
      } else if (buttons.size() == model::max_buttons) {
        complaints_.add(item->place, tr("more than {} buttons", model::max_buttons));
        return;
      } else {
        buttons.push_back(*name);
      }
    }
    if (node.items.empty()) complaints_.add(node.place, tr("a plate without buttons"));
  }

  void read_bank(const Node& node, model::SwitchBank& bank) {
    const Fields fields{complaints_, node, msg_as("what", "a bank of switches"), keys::switch_bank};
    if (node.kind != Node::Kind::map) return;
    const Node* binary = fields.find("binary");
    const Node* dials = fields.find("dials");
    if ((binary == nullptr) == (dials == nullptr)) {
      complaints_.add(node.place, tr("a bank of switches has either binary switches or dials"),
                      tr("{{binary: 6}} or {{dials: 2}}"));
      return;
    }
    bank.kind = binary != nullptr ? model::SwitchBank::Kind::binary : model::SwitchBank::Kind::rotary;
    // A site or zone number is at most 255.
    read_whole_into(complaints_, binary != nullptr ? binary : dials, bank.count, 1,
                    binary != nullptr ? 8 : 2);
  }

  [[nodiscard]] Button find_button(std::string_view name) const {
    const auto& buttons = family_.plate.buttons;
    const auto found = std::find(buttons.begin(), buttons.end(), name);
    return found == buttons.end() ? model::no_button : static_cast<Button>(found - buttons.begin());
  }

  Button read_button(const Node& node, std::string_view name, std::size_t offset) {
    const Button button = find_button(name);
    if (button == model::no_button) {
      complain_of_unknown(complaints_, node.place_of(offset, name.size()), msg_as("what", "button"), name,
                          std::span<const std::string>{family_.plate.buttons});
    }
    return button;
  }

  void read_function(const Fields& fields, std::string_view key, Button& into) {
    const Node* node = own_machine_ ? fields.find(key) : fields.need(key);
    if (node == nullptr) return;
    const auto name = read_text(complaints_, *node);
    if (!name) return;
    into = read_button(*node, *name, 0);
    if (into == model::no_button) return;
    if ((functions_ & model::only(into)) != 0) {
      complaints_.add(node->place, tr("'{}' already has a meaning in setup", *name),
                      tr("a button of its own"));
    }
    functions_ |= model::only(into);
  }

  void read_setup(const Node& node) {
    model::PlateFamily& plate = family_.plate;
    const Fields fields{complaints_, node, "setup", keys::family_plate_setup};
    if (const Node* hold = fields.need("hold")) read_gesture(*hold);
    setup_for_ = fields.need("for");
    time(setup_for_, plate.setup_hold);
    read_function(fields, "next", plate.next);
    read_function(fields, "previous", plate.previous);
    read_function(fields, "identify", plate.identify);
    read_function(fields, "assign", plate.assign);
    read_function(fields, "leave", plate.leave);
    read_time_out(fields, plate.time_out);
    if (const Node* announces =
            own_machine_ ? fields.find("announces_leaving") : fields.need("announces_leaving")) {
      announces_leaving_ = read_yes_no(complaints_, *announces);
    }
    time(fields.need("beacon"), plate.beacon);
  }

  void read_gesture(const Node& node) {
    const auto text = read_text(complaints_, node);
    if (!text) return;
    for (const words::Part& part : words::split(*text)) {
      const Button button = read_button(node, part.text, part.offset);
      if (button != model::no_button) family_.plate.setup_gesture |= model::only(button);
    }
    if (text->empty())
      complaints_.add(node.place, tr("no button at all"), tr("one or more buttons, such as: mark scene"));
  }

  void read_normal(const Node& node) {
    if (!is_kind(complaints_, node, Node::Kind::map, "normal")) return;
    for (const Node::Entry& entry : node.entries) {
      const Button button = read_button(*entry.key, entry.key->text, 0);
      if (button == model::no_button) continue;
      const Fields fields{complaints_, *entry.value, fmt::format("'{}'", entry.key->text), keys::binding};
      const Node* press = fields.find("press");
      const Node* hold = fields.find("hold");
      if (press != nullptr) read_binding(*press, family_.plate.press[button]);
      if (hold != nullptr) read_binding(*hold, family_.plate.hold[button]);
      if (press != nullptr) check_press(*press, button);
    }
  }

  /// Raise and lower go on while a button is down, so they cannot wait for it to come up.
  void check_press(const Node& node, Button button) {
    const Command command = family_.plate.press[button].command;
    if (command != Command::raise && command != Command::lower) return;
    const bool waits = family_.plate.hold[button].command != Command::nothing ||
                       (family_.plate.setup_gesture & model::only(button)) != 0;
    if (!waits) return;
    complaints_.add(node.place, tr("'{}' on a short press of a button that can also be held", node.text),
                    tr("raise and lower under 'hold'"));
  }

  void read_binding(const Node& node, model::Binding& into) {
    auto text = read_text(complaints_, node);
    if (!text) return;
    const model::Whom whom = take_whom(*text);
    const auto parts = words::split(*text);
    const std::string_view verb = parts.empty() ? std::string_view{} : parts[0].text;
    if (verb == "recall" || verb == "store") {
      if (parts.size() == 2 && read_scene(parts[1].text, family_.module.scenes, into.scene)) {
        into.command = verb == "recall" ? Command::recall : Command::store;
        into.whom = whom;
        return;
      }
      complaints_.add(node.place, tr("'{}' names no scene", *text),
                      tr("a scene from 1 to {}, such as {} 1", family_.module.scenes, verb));
      return;
    }
    const auto found = std::find(command_words.begin(), command_words.end(), *text);
    if (found == command_words.end()) {
      complain_of_unknown(complaints_, node.place, msg_as("what", "command"), *text, command_words);
      return;
    }
    into.command = static_cast<Command>(found - command_words.begin());
    if (into.command != Command::nothing)
      into.whom = whom;
    else if (whom != model::Whom::zone)
      complaints_.add(node.place, tr("'nothing', and yet for '{}'", to_string(whom)));
  }

  // --- the bus ---

  void read_bus(const Node& node) {
    sim::MediumTiming& bus = family_.bus;
    const Fields fields{complaints_, node, "bus", keys::family_bus};
    const Node* kind = fields.need("kind");
    const auto choice = kind == nullptr
                            ? std::nullopt
                            : read_choice(complaints_, *kind, msg_as("what", "kind of bus"), bus_kind_words);
    const bool radio = choice == std::size_t{1};
    family_.medium = radio ? sim::MediumKind::radio : sim::MediumKind::line;
    read_quantity_into(complaints_, fields.need("bit_rate"), parse_bit_rate, bus.bit_rate);
    bus.bits_per_byte = read_count(fields.need("bits_per_byte"), 1, 100);
    bus.overhead_bits = read_count(fields.need("overhead_bits"), 0, 10'000);
    if (const Node* first = fields.need("listens_first"))
      bus.sense = read_yes_no(complaints_, *first).value_or(true);
    time_or_none(fields.need("sense_delay"), bus.sense_delay);
    time_or_none(fields.need("gap"), bus.gap);
    if (const Node* backoff = fields.need("backoff")) read_backoff(*backoff);
    read_whole_into(complaints_, fields.need("outbox"), bus.outbox_limit, 1, 254);
    if (choice) read_radio(fields, radio);
    const Node* supply = fields.find("supply");
    if (supply == nullptr) return;
    if (radio)
      complaints_.add(supply->place, tr("a radio feeds no devices: 'supply' goes with a line"));
    else
      family_.supply = read_supply(*supply, complaints_);
  }

  std::int32_t read_count(const Node* node, std::uint64_t least, std::uint64_t most) {
    std::uint32_t value = 0;
    read_whole_into(complaints_, node, value, least, most);
    return static_cast<std::int32_t>(value);
  }

  void read_backoff(const Node& node) {
    const Fields fields{complaints_, node, "backoff", keys::backoff};
    time(fields.need("slot"), family_.bus.backoff_slot, longest_slot);
    read_whole_into(complaints_, fields.need("doublings"), family_.bus.doublings, 0, 16);
    read_whole_into(complaints_, fields.need("attempts"), family_.bus.attempts, 1, 255);
  }

  void read_radio(const Fields& fields, bool radio) {
    if (radio) {
      read_with_unit_into(complaints_, fields.need("carrier"), "MHz", 1, 100'000, family_.carrier_mhz);
      read_with_unit_into(complaints_, fields.need("link_budget"), "dB", 1, 300, family_.link_budget_db);
      return;
    }
    for (const std::string_view key : {"carrier", "link_budget"}) {
      if (const Node* node = fields.find(key)) {
        complaints_.add(node->place, tr("'{}' has a meaning for radio only", key));
      }
    }
  }

  // --- what has to hold between the parts ---

  void check_whole() {
    const model::PlateFamily& plate = family_.plate;
    if (family_.module.factory_site > plate.site_switches.largest()) {
      complaints_.add(factory_site_->place, tr("no plate can be set to this site number"),
                      tr("0 to {}", plate.site_switches.largest()));
    }
    if (plate.setup_hold <= family_.debounce || family_.stuck_after <= plate.setup_hold ||
        family_.stuck_after <= family_.module.setup_hold) {
      complaints_.add(setup_for_->place,
                      tr("a hold has to be longer than the debounce and shorter than 'stuck_after'"));
    }
    const bool alone = std::popcount(plate.setup_gesture) == 1;
    const auto single = static_cast<std::size_t>(std::countr_zero(plate.setup_gesture));
    if (alone && plate.hold[single].command != Command::nothing) {
      complaints_.add(
          setup_for_->place,
          tr("holding '{}' already enters setup; 'normal' gives it another meaning", plate.buttons[single]));
    }
  }

  /// What no device could be run with; what is only doubtful is for 'drybus family' to tell.
  void check_machines() {
    for (const model::MachineRemark& remark : model::remarks_on(family_)) {
      if (!remark.wrong) continue;
      Place place = root_.place;
      if (remark.line != 0) place.mark.line = remark.line;
      complaints_.add(place,
                      remark.plate ? tr("the machine of a plate: {}", remark.text)
                                   : tr("the machine of a module: {}", remark.text),
                      remark.expected);
    }
  }

  const Node& root_;
  Complaints& complaints_;
  Family family_;
  Buttons functions_ = 0;
  std::optional<bool> announces_leaving_;
  bool own_machine_ = false;  ///< of the plate: its rows say which of the buttons' functions there have to be
  const Node* factory_site_ = nullptr;
  const Node* long_press_ = nullptr;
  const Node* setup_for_ = nullptr;
};

}  // namespace

std::optional<Family> family_from(const Node& root, std::string name, Complaints& complaints) {
  return FamilyReader{root, complaints}.read(std::move(name));
}

}  // namespace drybus::tools
