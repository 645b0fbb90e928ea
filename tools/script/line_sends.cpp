// Frames in the words of a script: "send: go to scene 3", "to: group 2", "set: {scene 2: 128}".

#include <algorithm>
#include <charconv>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/line_keys.h"
#include "tools/script/line_site.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::msg_as;
using model::tr;

using iec62386::Command;
using iec62386::Op;
using iec62386::Send;
using iec62386::Target;

namespace {

std::optional<unsigned> number_in(std::string_view text, int base = 10) {
  unsigned value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value, base);
  if (error != std::errc{} || end != text.data() + text.size() || text.empty() || value > 0xFFFF)
    return std::nullopt;
  return value;
}

/// All that can be sent, as scripts write it.
std::vector<std::string> command_names() {
  std::vector<std::string> names = {"level 254", "command E0"};
  for (const Command& command : iec62386::opcodes)
    names.push_back(std::string{command.name} + (command.is(iec62386::numbered) ? " 0" : ""));
  for (const Command& command : iec62386::specials)
    names.push_back(std::string{command.name} + (command.is(iec62386::takes_value) ? " 0" : ""));
  return names;
}

/// "group 3", "12", "all", "unaddressed"
std::optional<Target> read_target(const Node* node, Complaints& complaints) {
  if (node == nullptr) return Target{};
  const auto text = read_text(complaints, *node);
  if (!text) return std::nullopt;
  if (*text == "all") return Target{};
  if (*text == "unaddressed") return Target{Target::Kind::unaddressed, 0};
  const bool group = text->starts_with("group ");
  const auto number = number_in(group ? std::string_view{*text}.substr(6) : std::string_view{*text});
  if (number && *number < (group ? 16U : iec62386::short_addresses))
    return Target{group ? Target::Kind::group : Target::Kind::one, static_cast<std::uint8_t>(*number)};
  complaints.add(node->place, tr("'{}' is nobody on a line", *text),
                 tr("all, unaddressed, group 0 to 15, or a short address from 0 to 63"));
  return std::nullopt;
}

class SendReader {
 public:
  SendReader(Complaints& complaints, Target target, bool once)
      : complaints_(complaints), target_(target), once_(once) {}

  std::vector<Send> sends;

  void command(const Node& node) {
    const auto text = read_text(complaints_, node);
    if (!text) return;
    const std::size_t blank = text->rfind(' ');
    const std::string head = blank == std::string::npos ? *text : text->substr(0, blank);
    const std::string tail = blank == std::string::npos ? "" : text->substr(blank + 1);
    if (head == "level") return level(node, tail);
    if (head == "command") return of_type(node, tail);
    if (plain(*text) || with_number(node, head, tail)) return;
    const std::vector<std::string> known = command_names();
    complaints_.add(node.place, tr("unknown command '{}'", *text),
                    tr("a command such as off, level 254 or go to scene 3"), nearest(*text, known));
  }

  /// A setting as a transaction: the value, the command, and a question whether it was taken.
  void setting(std::string_view key, const Node& key_node, const Node& value) {
    const auto words = words::split(key);
    const bool scene = words.size() > 1 && words[words.size() - 2].text == "scene";
    constexpr unsigned no_number = 16;
    const unsigned which = scene ? number_in(words.back().text).value_or(no_number) : no_number;
    const std::string base{scene ? key.substr(0, words.back().offset - 1) : key};
    const bool known = std::find(keys::line::settings.begin(), keys::line::settings.end(), base) !=
                       keys::line::settings.end();
    if (!known || (base.ends_with("scene") && which >= no_number))
      return complain_of_unknown(complaints_, key_node.place, msg_as("what", "setting"), key,
                                 keys::line::settings);
    if (base == "no scene") return push_twice(0x50U + which);
    const bool group = base.ends_with("group");
    const auto wanted = read_whole(complaints_, value, 0, group || base.starts_with("fade") ? 15 : 255);
    if (!wanted) return;
    const auto byte = static_cast<std::uint8_t>(*wanted);
    if (group) return push_twice((base == "group" ? 0x60U : 0x70U) + byte);
    special(0xA3, byte);
    if (base == "scene") return set_and_read(0x40U + which, 0xB0U + which, byte);
    if (base == "max level") return set_and_read(0x2A, 0xA1, byte);
    if (base == "min level") return set_and_read(0x2B, 0xA2, byte);
    if (base == "system failure level") return set_and_read(0x2C, 0xA4, byte);
    if (base == "power on level") return set_and_read(0x2D, 0xA3, byte);
    push_twice(base == "fade time" ? 0x2E : 0x2F);
  }

 private:
  void push(const iec62386::BitFrame& frame, bool twice, bool answers) {
    Send send;
    send.frame = frame;
    send.times = twice && !once_ ? 2 : 1;
    send.wants_answer = answers;
    sends.push_back(send);
  }
  void special(std::uint8_t code, std::uint8_t value) {
    push(iec62386::special_frame(code, value), false, false);
  }
  void push_twice(unsigned opcode) {
    push(iec62386::command_frame(target_, static_cast<std::uint8_t>(opcode)), true, false);
  }
  void set_and_read(unsigned set, unsigned query, std::uint8_t value) {
    push_twice(set);
    if (target_.kind != Target::Kind::one) return;
    push(iec62386::command_frame(target_, static_cast<std::uint8_t>(query)), false, true);
    sends.back().should_be = value;
  }

  void level(const Node& node, const std::string& tail) {
    const auto value = number_in(tail);
    if (!value || *value > 255)
      return complaints_.add(node.place, tr("which level?"), tr("level 0 to 254; 255 means no change"));
    push(iec62386::level_frame(target_, static_cast<std::uint8_t>(*value)), false, false);
  }
  void of_type(const Node& node, const std::string& tail) {
    const auto code = number_in(tail, 16);
    if (!code || *code > 0xFF)
      return complaints_.add(node.place, tr("which command?"),
                             tr("two hexadecimal digits, such as command E3"));
    const auto* command = iec62386::find_opcode(static_cast<std::uint8_t>(*code));
    const bool twice = command != nullptr && command->is(iec62386::twice);
    const bool answers = command != nullptr && command->is(iec62386::answers);
    push(iec62386::command_frame(target_, static_cast<std::uint8_t>(*code)), twice, answers);
  }

  bool plain(const std::string& name) {
    for (const Command& command : iec62386::opcodes) {
      if (command.name != name || command.is(iec62386::numbered)) continue;
      push(iec62386::command_frame(target_, command.code), command.is(iec62386::twice),
           command.is(iec62386::answers));
      return true;
    }
    for (const Command& command : iec62386::specials) {
      if (command.name != name || command.is(iec62386::takes_value)) continue;
      push(iec62386::special_frame(command.code), command.is(iec62386::twice), command.is(iec62386::answers));
      return true;
    }
    return false;
  }

  bool with_number(const Node& node, const std::string& name, const std::string& tail) {
    for (const Command& command : iec62386::opcodes) {
      if (command.name != name || !command.is(iec62386::numbered)) continue;
      const auto number = number_in(tail);
      if (!number || *number > 15)
        complaints_.add(node.place, tr("{}: which?", name), tr("a number from 0 to 15"));
      push(iec62386::command_frame(target_,
                                   static_cast<std::uint8_t>(command.code + (number.value_or(0) & 15U))),
           command.is(iec62386::twice), command.is(iec62386::answers));
      return true;
    }
    for (const Command& command : iec62386::specials) {
      if (command.name != name || !command.is(iec62386::takes_value)) continue;
      push(iec62386::special_frame(command.code, value_of(node, command, tail)), command.is(iec62386::twice),
           command.is(iec62386::answers));
      return true;
    }
    return false;
  }

  std::uint8_t value_of(const Node& node, const Command& command, const std::string& tail) {
    if (command.op == Op::initialise && tail == "all") return 0;
    if (command.op == Op::initialise && tail == "new") return 0xFF;
    const bool address =
        command.op == Op::initialise || command.op == Op::program_short || command.op == Op::verify_short;
    if (address && tail == "none") return 0xFF;
    const auto number = number_in(tail);
    const unsigned most = address ? iec62386::short_addresses - 1 : 255U;
    if (!number || *number > most) {
      complaints_.add(node.place, tr("{}: which?", command.name), tr("a number from 0 to {}", most));
      return 0;
    }
    return address ? iec62386::coded_short(static_cast<std::uint8_t>(*number))
                   : static_cast<std::uint8_t>(*number);
  }

  Complaints& complaints_;
  Target target_;
  bool once_;
};

}  // namespace

std::vector<Send> read_sends(const Node& map, Complaints& complaints) {
  const auto target = read_target(map.find("to"), complaints);
  const Node* once = map.find("once");
  const bool only_once = once != nullptr && read_yes_no(complaints, *once).value_or(false);
  SendReader reader{complaints, target.value_or(Target{}), only_once};
  if (const Node* send = map.find("send")) {
    const std::vector<const Node*> one = {send};
    for (const Node* each : send->kind == Node::Kind::list ? send->items : one) reader.command(*each);
  }
  const Node* set = map.find("set");
  if (set != nullptr && is_kind(complaints, *set, Node::Kind::map, "set")) {
    for (const Node::Entry& entry : set->entries) reader.setting(entry.key->text, *entry.key, *entry.value);
  }
  return std::move(reader.sends);
}

}  // namespace drybus::tools
