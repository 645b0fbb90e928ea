#include "tools/call/intake.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <initializer_list>
#include <map>
#include <memory>
#include <optional>
#include <set>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/trimmed.h"
#include "tools/base/utf8.h"
#include "tools/call/said.h"
#include "tools/call/told_step.h"
#include "tools/call/written.h"
#include "tools/script/family_search.h"
#include "tools/script/told_words.h"

namespace drybus::tools {

using model::tr;

namespace {

/// There is no line for this question yet.
struct Pending {
  std::string prompt;
  std::vector<std::string> choices;
  std::string site_told;
};
/// The line just read is no answer.
struct Refused {
  std::string why;
};

constexpr std::size_t most_devices = 250;

std::string in_small_letters(std::string text) {
  for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return text;
}

std::vector<std::string> between_commas(const std::string& line) {
  std::vector<std::string> parts;
  std::size_t at = 0;
  while (at <= line.size()) {
    const std::size_t end = std::min(line.find(',', at), line.size());
    if (std::string part{trimmed(std::string_view{line}.substr(at, end - at))}; !part.empty())
      parts.push_back(std::move(part));
    at = end + 1;
  }
  return parts;
}

struct ToldPlate {
  std::string label;
  std::string room;
  std::optional<std::pair<std::uint8_t, std::uint8_t>> numbers;
};
struct ToldModule {
  std::string label;
  std::string room;
  model::Address intended;
  bool in_use = false;
};

/// Goes through the lines from the first one; every question takes one.
class Intake {
 public:
  Intake(const std::vector<std::string>& lines, const std::filesystem::path& path)
      : lines_(lines), path_(std::filesystem::absolute(path)) {}

  IntakeTurn turn() {
    try {
      title_ = ask(tr("Good day. What is it about, in a few words?"));
      if (title_.empty()) refuse(tr("a few words, by which the call is found again"));
      family();
      rooms();
      plates();
      modules();
      in_use();
      site_known_ = true;
      done();
      seen();
      complaint();
      return {{}, {}, text(), {}, {}};
    } catch (const Pending& pending) {
      return {pending.prompt, pending.choices, {}, {}, pending.site_told};
    } catch (const Refused& refused) {
      return {{}, {}, {}, refused.why, {}};
    }
  }

 private:
  std::string ask(const std::string& prompt, std::vector<std::string> choices = {}) {
    if (next_ == lines_.size()) throw Pending{prompt, std::move(choices), site_known_ ? text() : ""};
    std::string line{trimmed(lines_[next_++])};
    if (line == ".") line.clear();
    return line;
  }
  [[noreturn]] static void refuse(const std::string& why) { throw Refused{why}; }

  // --- the site ---

  void family() {
    const auto known = known_families(path_.parent_path(), {});
    const std::string line = ask(tr("Which devices are they? The name of the family:"), known);
    for (std::size_t i = 0; i < known.size(); ++i) {
      if (line == known[i] || line == fmt::format("{}", i + 1)) family_ref_ = known[i];
    }
    if (family_ref_.empty())
      refuse(tr("there is no family '{}': {}.{}", line, one_of(known), did_you_mean(line, known)));
    const auto file = find_family(family_ref_, path_.parent_path());
    auto reading = file ? read_family(*file) : Reading<LoadedFamily>{std::vector<Problem>(1)};
    if (!reading.ok()) refuse(to_text(reading.problems()));
    family_ = std::move(reading.value().family);
  }

  void rooms() {
    rooms_ = between_commas(
        ask(tr("Which rooms are there? Names with commas between, or a full stop for one room only:")));
    const std::set<std::string> different(rooms_.begin(), rooms_.end());
    if (different.size() != rooms_.size()) refuse(tr("two rooms have the same name"));
    if (rooms_.size() == 1) rooms_.clear();
  }

  /// The room that a word names, or nothing.
  [[nodiscard]] std::optional<std::string> room(const std::string& word) const {
    for (const std::string& each : rooms_) {
      if (in_small_letters(each) == in_small_letters(word)) return each;
    }
    return std::nullopt;
  }

  void plates() {
    const std::string how =
        rooms_.empty() ? tr("such as 'Hall plate, 23/4'") : tr("such as 'Hall plate, hall, 23/4'");
    while (true) {
      const std::string line =
          ask(plates_.empty()
                  ? (rooms_.empty()
                         ? tr("A wall plate: what is it called, and how are its switches set, site and "
                              "zone? {}; ? where nobody knows:",
                              how)
                         : tr("A wall plate: what is it called, where is it, and how are its switches "
                              "set, site and zone? {}; ? where nobody knows:",
                              how))
                  : tr("Another plate? A full stop when there are no more:"));
      if (line.empty() && plates_.empty()) refuse(tr("there is a plate at least"));
      if (line.empty()) return;
      plates_.push_back(plate_of(line, how));
    }
  }

  ToldPlate plate_of(const std::string& line, const std::string& how) {
    ToldPlate plate;
    bool switches = false;
    for (const std::string& part : between_commas(line)) {
      if (plate.label.empty()) {
        plate.label = new_label(part);
      } else if (const auto named = room(part)) {
        plate.room = *named;
      } else if (part == "?" || part == "unknown" || part == "unbekannt") {
        switches = true;
      } else {
        const auto numbers = parse_switches(&family_, part);
        if (!numbers) refuse(tr("'{}' is no room, and no way to set switches: {}", part, how));
        plate.numbers = *numbers;
        switches = true;
      }
    }
    if (!rooms_.empty() && plate.room.empty())
      refuse(tr("in which room is it? {}", fmt::format("{}", fmt::join(rooms_, ", "))));
    if (!switches) refuse(tr("how are its switches set? {}; ? where nobody knows", how));
    return plate;
  }

  std::string new_label(const std::string& label) {
    if (!labels_.insert(in_small_letters(label)).second) refuse(tr("there is a '{}' already", label));
    if (labels_.size() > most_devices) refuse(tr("more than {} devices", most_devices));
    return label;
  }

  void modules() {
    const std::vector<std::string> all = rooms_.empty() ? std::vector<std::string>{""} : rooms_;
    for (const std::string& where : all) {
      const std::string line =
          ask(where.empty() ? tr("The modules, in the order of their channels: names with commas between:")
                            : tr("The modules in the {}, in the order of their channels: names with commas "
                                 "between, or a full "
                                 "stop for none:",
                                 where));
      const auto names = between_commas(line);
      if (names.empty()) continue;
      for (const std::string& name : names) new_label(name);
      const auto [site, zone] = number_for(where);
      for (const std::string& name : names) {
        std::uint8_t& channel = channels_[{site, zone}];
        if (channel == family_.plate.channels)
          refuse(tr("a plate of this family has {} channels", family_.plate.channels));
        modules_.push_back({name, where, {site, zone, ++channel}, false});
      }
    }
    if (modules_.empty()) refuse(tr("there is a module at least"));
  }

  /// The numbers of the plate there, else of the first plate; asked for where nobody knows them.
  std::pair<std::uint8_t, std::uint8_t> number_for(const std::string& where) {
    const ToldPlate* plate = &plates_.front();
    for (const ToldPlate& each : plates_) {
      if (each.room != where) continue;
      plate = &each;
      break;
    }
    if (plate->numbers) return *plate->numbers;
    const std::string line = ask(tr("Which site and zone are they meant to have? Such as 23/4:"));
    const auto numbers = parse_switches(&family_, line);
    if (!numbers) refuse(fmt::format("{}: {}", numbers.error().message, numbers.error().expected));
    return *numbers;
  }

  void in_use() {
    const std::string line =
        ask(tr("Did they have their addresses before all this? yes, no, or the names of those that had:"));
    const std::string word = in_small_letters(line);
    // Lines of a call that was begun in one language are read again in any: these words are taken whichever is spoken.
    const auto means = [&](std::initializer_list<std::string_view> words) {
      return std::find(words.begin(), words.end(), word) != words.end();
    };
    if (means({"yes", "y", "ja", "j"}) || means({"no", "n", "nein"})) {
      for (ToldModule& module : modules_) module.in_use = means({"yes", "y", "ja", "j"});
      return;
    }
    const auto names = between_commas(line);
    if (names.empty()) refuse(tr("yes, no, or the names of those that had"));
    for (const std::string& name : names) {
      const auto found = std::find_if(modules_.begin(), modules_.end(), [&](const ToldModule& module) {
        return in_small_letters(module.label) == in_small_letters(name);
      });
      if (found == modules_.end()) refuse(tr("there is no module '{}'", name));
      found->in_use = true;
    }
  }

  // --- the story ---

  /// The report as far as it is told, read; refuses the last line where it cannot be.
  LoadedReport so_far() {
    auto reading = read_report_text(text(), path_);
    if (reading.ok()) return std::move(reading.value());
    refuse(in_a_sentence(reading.problems().front()));
  }

  void done() {
    while (true) {
      const std::string line = ask(
          steps_.empty() ? tr("What was done, in order? One thing a line: 'addressed Table, Door with Hall "
                              "plate', 'press Hall plate "
                              "up', 'hold Table local for 4s', 'wait about 2 min', 'go to the attic', "
                              "'power off', 'saw Table blink'; "
                              "'perhaps' before what nobody is sure of. A full stop when that is all:")
                         : tr("And then? A full stop when that is all:"));
      if (line.empty()) return;
      add_step(line);
    }
  }

  void add_step(const std::string& line) {
    if (site_ == nullptr) site_ = std::make_unique<model::Site>(so_far().call.believed.site);
    const auto step = told_step(*site_, line);
    if (!step) refuse(in_a_sentence(step.error()));
    steps_.push_back(*step);
    so_far();
  }

  void seen() {
    while (true) {
      const std::string line =
          ask(seen_.empty() && never_.empty() ? tr("What is to be seen now? One thing a line: 'Table is on', "
                                                   "'Door blinks', 'Door never reacts'. A full stop "
                                                   "when that is all:")
                                              : tr("What else? A full stop when that is all:"));
      if (line.empty()) return;
      add_seen(line, seen_, never_);
    }
  }

  void add_seen(const std::string& line, std::vector<std::string>& seen, std::vector<std::string>& never) {
    if (site_ == nullptr) site_ = std::make_unique<model::Site>(so_far().call.believed.site);
    if (const auto at = line.find(" never "); at != std::string::npos) {
      never.push_back(in_quotes(line.substr(0, at) + line.substr(at + 6)));
    } else {
      const auto said = parse_said(*site_, line);
      if (!said) refuse(in_a_sentence(said.error()));
      seen.push_back(
          fmt::format("{{{}.{}: {}}}", site_->name((*said).device), to_string((*said).fact), (*said).what));
    }
    so_far();
  }

  void complaint() {
    const std::string line = ask(tr("And what is it, of all that, that they call for? In the same words:"));
    if (line.empty()) return;
    add_seen(line, complaint_, never_complaint_);
  }

  // --- its text ---

  [[nodiscard]] std::string text() const {
    std::string text =
        fmt::format("drybus-report: 1\ntitle: {}\nfamily: {}\nsite:\n", in_quotes(title_), family_ref_);
    if (!rooms_.empty()) {
      text += "  places:\n";
      for (const std::string& each : rooms_) text += fmt::format("    {}: {{}}\n", in_quotes(each));
    }
    text += "  plates:\n";
    for (std::size_t i = 0; i < plates_.size(); ++i) {
      const ToldPlate& plate = plates_[i];
      text += fmt::format(
          "    P{}: {{label: {}{}, switches: {}}}\n", i + 1, in_quotes(plate.label), place_text(plate.room),
          plate.numbers ? fmt::format("{}/{}", plate.numbers->first, plate.numbers->second) : "unknown");
    }
    text += "  modules:\n";
    for (std::size_t i = 0; i < modules_.size(); ++i) {
      const ToldModule& module = modules_[i];
      const std::string address = to_string(module.intended);
      text += fmt::format("    M{}: {{label: {}{}, intended: {}{}}}\n", i + 1, in_quotes(module.label),
                          place_text(module.room), address, module.in_use ? ", stored: " + address : "");
    }
    text += steps_.empty() ? "script: []\n" : "script:\n";
    for (const std::string& step : steps_) text += fmt::format("  - {}\n", step);
    text += list_text("seen", seen_) + list_text("never", never_);
    if (!complaint_.empty()) text += fmt::format("complaint: {}\n", complaint_.front());
    if (!never_complaint_.empty())
      text += fmt::format("complaint: {{never: {}}}\n", never_complaint_.front());
    return text;
  }

  [[nodiscard]] static std::string place_text(const std::string& room) {
    return room.empty() ? std::string{} : fmt::format(", place: {}", in_quotes(room));
  }
  [[nodiscard]] static std::string list_text(std::string_view key, const std::vector<std::string>& items) {
    if (items.empty()) return {};
    std::string text = fmt::format("{}:\n", key);
    for (const std::string& item : items) text += fmt::format("  - {}\n", item);
    return text;
  }

  const std::vector<std::string>& lines_;
  std::filesystem::path path_;
  std::size_t next_ = 0;
  std::string title_;
  std::string family_ref_;
  model::Family family_;
  std::vector<std::string> rooms_;
  std::set<std::string> labels_;  ///< in small letters
  std::vector<ToldPlate> plates_;
  std::vector<ToldModule> modules_;
  std::map<std::pair<std::uint8_t, std::uint8_t>, std::uint8_t> channels_;  ///< the last one given
  bool site_known_ = false;
  std::unique_ptr<model::Site> site_;  ///< once it is complete
  std::vector<std::string> steps_;
  std::vector<std::string> seen_;
  std::vector<std::string> never_;
  std::vector<std::string> complaint_;
  std::vector<std::string> never_complaint_;
};

}  // namespace

IntakeTurn intake_turn(const std::vector<std::string>& lines, const std::filesystem::path& path) {
  return Intake{lines, path}.turn();
}

}  // namespace drybus::tools
