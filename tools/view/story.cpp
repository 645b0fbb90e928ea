#include "tools/view/story.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "model/record/describe.h"
#include "model/record/family_names.h"
#include "model/world/installer.h"
#include "tools/base/output.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

using namespace model;  // a view speaks the model's words throughout

namespace {

std::string_view pattern_verb(Pattern pattern) {
  switch (pattern) {
    case Pattern::dark:
      return "goes dark";
    case Pattern::blip:
      return "blips";
    case Pattern::breathe:
      return "breathes";
    case Pattern::blink:
      return "blinks";
    case Pattern::steady:
      return "is steady";
    case Pattern::refuse:
      return "refuses";
  }
  return "";
}

/// A blip that follows a pattern says that the pattern is over.
std::string_view stopping_verb(Pattern before) {
  switch (before) {
    case Pattern::breathe:
      return "stops breathing";
    case Pattern::blink:
      return "stops blinking";
    case Pattern::steady:
      return "is steady no more";
    case Pattern::refuse:
      return "stops refusing";
    case Pattern::dark:
    case Pattern::blip:
      return "blips";
  }
  return "";
}

/// Reads a record from its beginning and remembers what the story needs: where the installer stands.
class Teller {
 public:
  Teller(const Scenario& scenario, const sim::Record& record)
      : scenario_(scenario), record_(record), installer_at_(scenario.people.front().place) {}

  std::vector<StoryLine> tell() {
    for (sim::EntryId id = 1; id <= record_.size(); ++id) take(id);
    return std::move(lines_);
  }

 private:
  [[nodiscard]] const Site& site() const { return scenario_.site; }

  void add(sim::EntryId id, StoryLine::Kind kind, std::string text) {
    lines_.push_back({record_[id].at, kind, std::move(text), {id}});
  }

  void take(sim::EntryId id) {
    const sim::Entry& entry = record_[id];
    switch (what(entry)) {
      case What::step:
        return step(id, entry);
      case What::walked:
        return walk(id, entry);
      case What::arrived:
        if (entry.who == 0) installer_at_ = static_cast<PlaceId>(entry.a);
        return;
      case What::indicator:
        return indicator(id, entry);
      case What::level:
        return level(id, entry);
      case What::sent_whole:
        return telegram(id, entry);
      case What::checked:
        return checked(id, entry);
      case What::mode:
      case What::store_torn:
      case What::refused:
      case What::misread:
      case What::gave_up:
      case What::dropped:
      case What::deferred:
      case What::said:
        return add(id, StoryLine::Kind::hidden, describe(scenario_, entry));
      case What::lost:
        if (!is_beacon(entry)) add(id, StoryLine::Kind::hidden, describe(scenario_, entry));
        return;
      case What::stored:
      case What::channel:
      case What::power_up:
        return add(id, StoryLine::Kind::hidden, describe(scenario_, entry));
      case What::assign_ignored:
        return ignored(id, entry);
      case What::power:
        return add(id, StoryLine::Kind::seen, describe(scenario_, entry));
      case What::blips:
        if (entry.a == 0) add(id, StoryLine::Kind::hidden, describe(scenario_, entry));
        return;
      case What::began:
      case What::contact:
      case What::gesture:
      case What::timer:
      case What::queued:
      case What::sent:
      case What::heard:
      case What::obeyed:
      case What::level_reached:
      case What::store_begun:
      case What::blip_unshown:
      case What::switches:
      case What::link:
      case What::stuck:
      case What::deaf:
        return;
    }
  }

  static bool is_beacon(const sim::Entry& entry) { return unpack(entry.b).kind == TelegramKind::beacon; }

  void step(sim::EntryId id, const sim::Entry& entry) {
    const Step& step = scenario_.people[entry.who].script[entry.a];
    const bool told_elsewhere = step.kind == StepKind::see || step.kind == StepKind::expect ||
                                (step.kind == StepKind::walk && entry.who == 0);
    if (told_elsewhere) return;
    std::string text = entry.who == 0 ? "" : scenario_.people[entry.who].name + ": ";
    text += describe(scenario_, step);
    if (step.kind != StepKind::note && !step.text.empty()) text += " (" + step.text.str() + ")";
    add(id, StoryLine::Kind::done, text);
  }

  void walk(sim::EntryId id, const sim::Entry& entry) {
    if (entry.who != 0) return;
    installer_at_ = no_place;
    const auto there = static_cast<PlaceId>(entry.b);
    const sim::Duration time = site().walk(static_cast<PlaceId>(entry.a), there);
    add(id, StoryLine::Kind::done,
        fmt::format("walks to {}, {}", site().places[there].name, duration_text(time)));
  }

  [[nodiscard]] bool sees(DeviceId device) const { return in_sight(site(), installer_at_, device); }

  void add_where(sim::EntryId id, DeviceId device, std::string text) {
    if (sees(device)) return add(id, StoryLine::Kind::seen, std::move(text));
    add(id, StoryLine::Kind::hidden,
        fmt::format("{} in {}, where nobody looks", text, site().places[site().place(device)].name));
  }

  /// Blips, and going dark after one, say no more than the telegram's own line.
  void indicator(sim::EntryId id, const sim::Entry& entry) {
    const auto pattern = static_cast<Pattern>(entry.a);
    Pattern& shown = shown_at(entry.who);
    const Pattern before = std::exchange(shown, pattern);
    const bool was_quiet = before == Pattern::dark || before == Pattern::blip;
    if (was_quiet && (pattern == Pattern::blip || pattern == Pattern::dark)) return;
    const std::string_view verb = pattern == Pattern::blip ? stopping_verb(before) : pattern_verb(pattern);
    add_where(id, entry.who, fmt::format("{} {}", site().name(entry.who), verb));
  }

  void level(sim::EntryId id, const sim::Entry& entry) {
    if (entry.cause != sim::no_entry && what(record_[entry.cause]) == What::began)
      return first_levels(id, entry);
    add_where(id, entry.who,
              fmt::format("{}'s load: {} to {}", site().name(entry.who),
                          percent_text(static_cast<Level>(entry.a & 0xffff)),
                          percent_text(static_cast<Level>(entry.a >> 16))));
  }

  /// The levels of power-up: one line for all that is in sight, one for the rest.
  void first_levels(sim::EntryId id, const sim::Entry& entry) {
    const bool seen = sees(entry.who);
    const std::string text =
        fmt::format("{} at {}", site().name(entry.who), percent_text(static_cast<Level>(entry.a >> 16)));
    std::optional<std::size_t>& line = seen ? first_levels_seen_ : first_levels_hidden_;
    if (line) {
      lines_[*line].text += ", " + text;
      lines_[*line].entries.push_back(id);
      return;
    }
    line = lines_.size();
    add(id, seen ? StoryLine::Kind::seen : StoryLine::Kind::hidden,
        fmt::format("power is on{}: {}", seen ? "" : ", where nobody looks", text));
  }

  /// Worth a word only for a module that had been in setup and left it without an address.
  void ignored(sim::EntryId id, const sim::Entry& entry) {
    if (entry.because == sim::no_entry) return;
    if (static_cast<ModeReason>(record_[entry.because].b) == ModeReason::assigned) return;
    add(id, StoryLine::Kind::hidden, describe(scenario_, entry));
  }

  /// One line for a telegram and everybody who heard it; the receptions follow it in the record.
  void telegram(sim::EntryId id, const sim::Entry& entry) {
    if (is_beacon(entry)) return;
    std::vector<std::string> heard_by;
    for (sim::EntryId next = id + 1; next <= record_.size() && record_[next].at == entry.at; ++next) {
      if (what(record_[next]) == What::heard && record_[next].cause == id) {
        heard_by.push_back(site().name(record_[next].who));
      }
    }
    const std::string heard = heard_by.empty()      ? "heard by nobody"
                              : heard_by.size() > 6 ? fmt::format("heard by {} devices", heard_by.size())
                                                    : fmt::format("heard by {}", fmt::join(heard_by, ", "));
    add(id, StoryLine::Kind::hidden, fmt::format("{}, {}", describe(scenario_, entry), heard));
  }

  void checked(sim::EntryId id, const sim::Entry& entry) {
    const Check& check = scenario_.checks[entry.a];
    const std::string text = describe(scenario_, check);
    const std::string verdict = entry.b != 0 ? "" : " - NO";
    if (check.seen) return add(id, StoryLine::Kind::seen, "looks: " + text + verdict);
    add(id, StoryLine::Kind::hidden, "expected: " + text + verdict);
  }

  Pattern& shown_at(DeviceId device) {
    if (shown_.size() <= device) shown_.resize(site().device_count(), Pattern::dark);
    return shown_[device];
  }

  const Scenario& scenario_;
  const sim::Record& record_;
  PlaceId installer_at_;
  std::vector<StoryLine> lines_;
  std::vector<Pattern> shown_;
  std::optional<std::size_t> first_levels_seen_;  ///< indices into lines_
  std::optional<std::size_t> first_levels_hidden_;
};

struct Columns {
  std::size_t when = 9;
  std::size_t done = 36;
  std::size_t seen = 0;
};

std::string row(const Columns& columns, std::string_view when, std::string_view done, std::string_view seen,
                Ink ink) {
  const auto left = wrapped(done, columns.done);
  const auto right = wrapped(seen, columns.seen);
  std::string text;
  for (std::size_t i = 0; i < std::max(left.size(), right.size()); ++i) {
    std::string line = padded(i == 0 ? when : "", columns.when) + "  " +
                       padded(i < left.size() ? left[i] : "", columns.done) + "  ";
    if (i < right.size()) line += inked(right[i], ink);
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

std::string checks_text(const Scenario& scenario, const RunResult& result, bool failed_only,
                        std::size_t width) {
  std::string text;
  for (const CheckResult& check : result.checks) {
    if (failed_only && check.passed) continue;
    const Check& wanted = scenario.checks[check.check];
    const std::string mark = check.passed ? inked("  holds ", Ink::green) : inked("  FAILS ", Ink::red);
    std::string line = fmt::format("{}: {}", clock_text(check.at), describe(scenario, wanted));
    if (!check.passed) {
      line += fmt::format("; in fact {}  ({}:{}:{})", check.actual, scenario.files[wanted.mark.file],
                          wanted.mark.line, wanted.mark.column);
    }
    text += paragraph(line, width, mark, "        ");
  }
  return text;
}

std::string findings_text(const RunResult& result, std::size_t width) {
  std::string text;
  for (const Finding& finding : result.findings) {
    text += "  " + inked(to_string(finding.id), Ink::bold) + ", " + span_text(finding) + "\n";
    text += paragraph(finding.text, width, "    ", "    ");
    text += paragraph("Remedy: " + finding.remedy, width, "    ", "    ");
  }
  return text;
}

std::string broken_off_text(const Scenario& scenario, const RunResult& result, std::size_t width) {
  if (!result.broken_off) return "";
  return paragraph("The run broke off: " + describe(scenario, *result.broken_off), width, "", "  ");
}

std::string verdict_line(const RunResult& result) {
  const auto failed = std::count_if(result.checks.begin(), result.checks.end(),
                                    [](const CheckResult& c) { return !c.passed; });
  const std::string checks = result.checks.empty() ? "no checks"
                             : failed == 0
                                 ? fmt::format("all {} checks hold", result.checks.size())
                                 : fmt::format("{} of {} checks fail", failed, result.checks.size());
  return fmt::format("{}: {}, {} finding{}; ended at {}; digest {}\n",
                     result.passed() ? inked("passed", Ink::green) : inked("FAILED", Ink::red), checks,
                     result.findings.size(), result.findings.size() == 1 ? "" : "s",
                     clock_text(result.world.now), result.digest.hex());
}

}  // namespace

std::string reflowed(std::string text) {
  while (!text.empty() && text.back() == '\n') text.pop_back();
  for (std::size_t i = 0; i + 1 < text.size(); ++i) {
    if (text[i] == '\n' && text[i + 1] != '\n' && (i == 0 || text[i - 1] != '\n')) text[i] = ' ';
  }
  return text;
}

std::string story_table(const std::vector<StoryLine>& lines, std::size_t width) {
  Columns columns;
  columns.seen = width - columns.when - columns.done - 4;
  std::string text = row(columns, "when", "what was done",
                         "what was seen  (~ hidden: nobody on site can see it)", Ink::plain);
  text += std::string(width, '-') + "\n";
  std::string last_time;
  for (const StoryLine& line : lines) {
    const std::string time = clock_text(line.at);
    const std::string when = time == last_time ? "" : fmt::format("{:>9}", time);
    last_time = time;
    switch (line.kind) {
      case StoryLine::Kind::done:
        text += row(columns, when, line.text, "", Ink::plain);
        break;
      case StoryLine::Kind::seen:
        text += row(columns, when, "", line.text, Ink::plain);
        break;
      case StoryLine::Kind::hidden:
        text += row(columns, when, "", "~ " + line.text, Ink::dim);
        break;
    }
  }
  return text;
}

std::string span_text(const Finding& finding) {
  const std::string from = clock_text(finding.at);
  if (!finding.until) return "from " + from;
  return *finding.until == finding.at ? "at " + from
                                      : fmt::format("{} to {}", from, clock_text(*finding.until));
}

std::vector<StoryLine> story_lines(const Scenario& scenario, const RunResult& result, const StorySpan& span) {
  std::vector<StoryLine> lines = Teller{scenario, result.record}.tell();
  std::erase_if(lines, [&](const StoryLine& line) { return line.at < span.from || line.at > span.to; });
  return lines;
}

std::string story_text(const Scenario& scenario, const RunResult& result, std::uint64_t seed,
                       const StorySpan& span, std::size_t width) {
  std::string text = inked(scenario.title, Ink::bold) + "\n";
  if (!scenario.about.empty()) text += paragraph(reflowed(scenario.about), width, "", "");
  text += fmt::format("family {}, seed {}\n\n", family_names(scenario.site), seed);
  text += story_table(story_lines(scenario, result, span), width);
  if (!result.checks.empty()) text += "\nChecks\n" + checks_text(scenario, result, false, width);
  text += "\nFindings\n" + (result.findings.empty() ? "  none\n" : findings_text(result, width));
  return text + "\n" + broken_off_text(scenario, result, width) + verdict_line(result);
}

std::string verdict_text(const Scenario& scenario, const RunResult& result, std::size_t width) {
  return checks_text(scenario, result, true, width) + findings_text(result, width) +
         broken_off_text(scenario, result, width) + verdict_line(result);
}

}  // namespace drybus::tools
