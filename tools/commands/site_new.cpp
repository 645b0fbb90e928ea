#include "tools/commands/site_new.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>
#include <functional>
#include <iostream>
#include <set>

#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/schedule/entries.h"

namespace drybus::tools {

using model::tr;
using model::tr_as;

namespace {

constexpr std::size_t most_answer_bytes = 4096;
constexpr std::size_t most_asked_rooms = 50;

/// Nothing when the answer can be used, else what is wrong with it.
using Use = std::function<std::string(const std::string& answer)>;

void ask(const std::string& question, const Use& use) {
  for (;;) {
    print_out(question + "\n> ");
    std::string line;
    if (!std::getline(std::cin, line))
      throw Unusable{tr("the answers end before the site is complete; nothing was written")};
    const std::string complaint = line.size() > most_answer_bytes ? tr("that is too long")
                                  : first_bad_character(line)     ? tr("that cannot be read")
                                                                  : use(tidied(line));
    if (complaint.empty()) return;
    print_out(complaint + "\n");
  }
}

/// Typed in English, or in the language in which it was asked.
bool says_none(const std::string& answer) {
  const std::string none = tr_as("answer", "none"), no = tr_as("answer", "no");
  return boost::iequals(answer, "none") || boost::iequals(answer, "no") || boost::iequals(answer, none) ||
         boost::iequals(answer, no);
}

std::vector<std::string> parts_of(const std::string& answer) {
  std::vector<std::string> parts;
  boost::split(parts, answer, boost::is_any_of(",;"));
  for (std::string& part : parts) part = tidied(part);
  std::erase(parts, "");
  return parts;
}

/// The first of these that an earlier one repeats.
std::optional<std::string> repeated(const std::vector<std::string>& names) {
  std::set<std::string> seen;
  for (const std::string& name : names) {
    if (!seen.insert(boost::to_lower_copy(name)).second) return name;
  }
  return std::nullopt;
}

std::string too_long(const std::vector<std::string>& names) {
  for (const std::string& name : names) {
    if (character_count(name) > 48) return tr("'{}' is longer than 48 characters", name);
  }
  return {};
}

/// "Pendant 60 W": a name, and a power where the last word or two are one.
Circuit circuit_of(const std::string& entry, const std::string& room, const model::Family* family) {
  Circuit circuit;
  circuit.room = room;
  circuit.label = entry;
  for (std::size_t blank = entry.find(' '); blank != std::string::npos; blank = entry.find(' ', blank + 1)) {
    const auto load = parse_load(std::string_view{entry}.substr(blank + 1));
    if (!load.watts) continue;
    circuit.label = entry.substr(0, blank);
    circuit.watts = load.watts;
    circuit.dimming = usual_dimming(family, *load.watts);
    break;
  }
  return circuit;
}

class Dialogue {
 public:
  explicit Dialogue(const model::Family* family) : family_(family) {}

  Schedule go() {
    ask_rooms();
    for (const std::string& room : std::vector<std::string>{out_.rooms}) ask_circuits(room);
    ask_left_alone();
    name_all();
    return std::move(out_);
  }

 private:
  void ask_rooms() {
    ask(tr("Which rooms are there? Their names, with commas between, such as: Hall, Study, Kitchen"),
        [this](const std::string& answer) -> std::string {
          const auto rooms = parts_of(answer);
          if (rooms.empty()) return tr("at least one room is needed");
          if (rooms.size() > most_asked_rooms)
            return tr("more than {} rooms: make a sheet of them", most_asked_rooms);
          if (const auto twice = repeated(rooms)) return tr("'{}' stands there twice", *twice);
          out_.rooms = rooms;
          return too_long(rooms);
        });
  }

  void ask_circuits(const std::string& room) {
    ask(tr("Which circuits are in {}? Each with its watts where they are known, such as: Pendant "
           "60, Wall lights 80",
           room),
        [&](const std::string& answer) -> std::string {
          std::vector<Circuit> circuits;
          std::vector<std::string> labels;
          for (const std::string& part : parts_of(answer)) {
            circuits.push_back(circuit_of(part, room, family_));
            labels.push_back(circuits.back().label);
          }
          if (circuits.empty()) return tr("at least one circuit is needed in every room");
          if (const auto twice = repeated(labels)) return tr("'{}' stands there twice", *twice);
          if (const std::string complaint = too_long(labels); !complaint.empty()) return complaint;
          out_.circuits.insert(out_.circuits.end(), circuits.begin(), circuits.end());
          return {};
        });
  }

  void ask_left_alone() {
    ask(tr("Is there any that must not be switched in a test, such as a cold store or the light of a stair? "
           "Their names, or "
           "nothing"),
        [this](const std::string& answer) -> std::string {
          const auto names = parts_of(answer);
          for (const std::string& name : names) {
            const bool known =
                std::any_of(out_.circuits.begin(), out_.circuits.end(),
                            [&name](const Circuit& circuit) { return boost::iequals(circuit.label, name); });
            if (!known && !says_none(name)) return tr("no circuit is called '{}'", name);
          }
          for (Circuit& circuit : out_.circuits) {
            circuit.do_not_switch = std::any_of(
                names.begin(), names.end(),
                [&circuit](const std::string& name) { return boost::iequals(circuit.label, name); });
          }
          return {};
        });
  }

  void name_all() {
    const std::size_t digits = std::to_string(out_.circuits.size()).size();
    std::multiset<std::string> labels;
    for (const Circuit& circuit : out_.circuits) labels.insert(boost::to_lower_copy(circuit.label));
    std::size_t number = 0;
    for (Circuit& circuit : out_.circuits) {
      circuit.name = fmt::format("M{:0{}}", ++number, digits);
      if (labels.count(boost::to_lower_copy(circuit.label)) > 1)
        circuit.label = fmt::format("{}, {}", circuit.room, circuit.label);
    }
  }

  const model::Family* family_;
  Schedule out_;
};

}  // namespace

Schedule asked_schedule(const model::Family* family) {
  return Dialogue{family}.go();
}

}  // namespace drybus::tools
