#include "tools/view/story.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "model/record/describe.h"
#include "model/record/family_names.h"
#include "model/words/words.h"
#include "model/world/installer.h"
#include "tools/base/output.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

using namespace model;  // a view speaks the model's words throughout

namespace {

std::string begins_text(const std::string& device, Pattern pattern) {
  switch (pattern) {
    case Pattern::dark:
      return tr("{} goes dark", device);
    case Pattern::blip:
      return tr("{} blips", device);
    case Pattern::breathe:
      return tr("{} breathes", device);
    case Pattern::blink:
      return tr("{} blinks", device);
    case Pattern::steady:
      return tr("{} is steady", device);
    case Pattern::refuse:
      return tr("{} refuses", device);
  }
  return "";
}

/// A blip that follows a pattern says that the pattern is over.
std::string stops_text(const std::string& device, Pattern before) {
  switch (before) {
    case Pattern::breathe:
      return tr("{} stops breathing", device);
    case Pattern::blink:
      return tr("{} stops blinking", device);
    case Pattern::steady:
      return tr("{} is steady no more", device);
    case Pattern::refuse:
      return tr("{} stops refusing", device);
    case Pattern::dark:
    case Pattern::blip:
      return tr("{} blips", device);
  }
  return "";
}

std::string spoken_percent(Level level) {
  return with_decimal_mark(percent_text(level));
}

/// "M1 at 40 %"; what is written alike of a time is another text.
std::string at_level(const std::string& device, Level level) {
  const std::string percent = spoken_percent(level);
  return fmt::vformat(in_words_spoken(msg_as("level", "{} at {}"), "level"),
                      fmt::make_format_args(device, percent));
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
    add(id, StoryLine::Kind::done, tr("walks to {}, {}", site().places[there].name, duration_text(time)));
  }

  [[nodiscard]] bool sees(DeviceId device) const { return in_sight(site(), installer_at_, device); }

  void add_where(sim::EntryId id, DeviceId device, std::string text) {
    if (sees(device)) return add(id, StoryLine::Kind::seen, std::move(text));
    add(id, StoryLine::Kind::hidden,
        tr("{} in {}, where nobody looks", text, site().places[site().place(device)].name));
  }

  /// Blips, and going dark after one, say no more than the telegram's own line.
  void indicator(sim::EntryId id, const sim::Entry& entry) {
    const auto pattern = static_cast<Pattern>(entry.a);
    Pattern& shown = shown_at(entry.who);
    const Pattern before = std::exchange(shown, pattern);
    const bool was_quiet = before == Pattern::dark || before == Pattern::blip;
    if (was_quiet && (pattern == Pattern::blip || pattern == Pattern::dark)) return;
    const std::string& name = site().name(entry.who);
    add_where(id, entry.who,
              pattern == Pattern::blip ? stops_text(name, before) : begins_text(name, pattern));
  }

  void level(sim::EntryId id, const sim::Entry& entry) {
    if (entry.cause != sim::no_entry && what(record_[entry.cause]) == What::began)
      return first_levels(id, entry);
    add_where(id, entry.who,
              tr("{}'s load: {} to {}", site().name(entry.who),
                 spoken_percent(static_cast<Level>(entry.a & 0xffff)),
                 spoken_percent(static_cast<Level>(entry.a >> 16))));
  }

  /// The levels of power-up: one line for all that is in sight, one for the rest.
  void first_levels(sim::EntryId id, const sim::Entry& entry) {
    const bool seen = sees(entry.who);
    const std::string text = at_level(site().name(entry.who), static_cast<Level>(entry.a >> 16));
    std::optional<std::size_t>& line = seen ? first_levels_seen_ : first_levels_hidden_;
    if (line) {
      lines_[*line].text += ", " + text;
      lines_[*line].entries.push_back(id);
      return;
    }
    line = lines_.size();
    add(id, seen ? StoryLine::Kind::seen : StoryLine::Kind::hidden,
        seen ? tr("power is on: {}", text) : tr("power is on, where nobody looks: {}", text));
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
    add(id, StoryLine::Kind::hidden, heard_text(describe(scenario_, entry), heard_by));
  }

  static std::string heard_text(const std::string& sent, const std::vector<std::string>& heard_by) {
    if (heard_by.empty()) return tr("{}, heard by nobody", sent);
    if (heard_by.size() > 6) return tr("{}, heard by {} devices", sent, heard_by.size());
    return tr("{}, heard by {}", sent, fmt::format("{}", fmt::join(heard_by, ", ")));
  }

  void checked(sim::EntryId id, const sim::Entry& entry) {
    const Check& check = scenario_.checks[entry.a];
    const std::string text = describe(scenario_, check);
    const bool holds = entry.b != 0;
    if (check.seen)
      return add(id, StoryLine::Kind::seen, holds ? tr("looks: {}", text) : tr("looks: {} - NO", text));
    add(id, StoryLine::Kind::hidden, holds ? tr("expected: {}", text) : tr("expected: {} - NO", text));
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
    std::string line = fmt::format("{}: {}", clock_text(check.at), describe(scenario, wanted));
    if (!check.passed) {
      line += tr("; in fact {}", check.actual) + fmt::format("  ({}:{}:{})", scenario.files[wanted.mark.file],
                                                             wanted.mark.line, wanted.mark.column);
    }
    text += paragraph(line, width, check_mark(check.passed), check_indent());
  }
  return text;
}

std::string findings_text(const RunResult& result, std::size_t width) {
  std::string text;
  for (const Finding& finding : result.findings) {
    text += "  " + inked(to_string(finding.id), Ink::bold) + ", " + span_text(finding) + "\n";
    text += paragraph(finding.text, width, "    ", "    ");
    text += paragraph(tr("Remedy: {}", finding.remedy), width, "    ", "    ");
  }
  return text;
}

std::string broken_off_text(const Scenario& scenario, const RunResult& result, std::size_t width) {
  if (!result.broken_off) return "";
  return paragraph(tr("The run broke off: {}", describe(scenario, *result.broken_off)), width, "", "  ");
}

std::string verdict_line(const RunResult& result) {
  const auto failed = std::count_if(result.checks.begin(), result.checks.end(),
                                    [](const CheckResult& c) { return !c.passed; });
  return verdict_words({result.passed(), result.checks.size(), static_cast<std::size_t>(failed),
                        result.findings.size(), clock_text(result.world.now), result.digest.hex()});
}

}  // namespace

std::string check_mark(bool passed) {
  return passed ? inked("  " + tr("holds") + " ", Ink::green) : inked("  " + tr("FAILS") + " ", Ink::red);
}

std::string check_indent() {
  return std::string(std::max(columns(tr("holds")), columns(tr("FAILS"))) + 3, ' ');
}

std::string verdict_words(const Verdict& verdict) {
  const std::size_t all = verdict.checks;
  const std::string checks =
      all == 0 ? tr("no checks")
      : verdict.failed == 0
          ? plural("all {} checks hold", "all {} checks hold", all, all)
          : plural("{} of {} checks fail", "{} of {} checks fail", verdict.failed, verdict.failed, all);
  return plural("{}: {}, {} finding; ended at {}; digest {}\n",
                "{}: {}, {} findings; ended at {}; digest {}\n", verdict.findings,
                verdict.passed ? inked(tr("passed"), Ink::green) : inked(tr("FAILED"), Ink::red), checks,
                verdict.findings, verdict.ended, verdict.digest);
}

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
  std::string text = row(columns, tr("when"), tr("what was done"),
                         tr("what was seen  (~ hidden: nobody on site can see it)"), Ink::plain);
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

std::string span_words(sim::Instant at, const std::optional<sim::Instant>& until) {
  const std::string from = clock_text(at);
  if (!until) return tr("from {}", from);
  return *until == at ? tr("at {}", from) : tr("{} to {}", from, clock_text(*until));
}

std::string span_text(const Finding& finding) {
  return span_words(finding.at, finding.until);
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
  text += tr("family {}, seed {}\n\n", family_names(scenario.site), seed);
  text += story_table(story_lines(scenario, result, span), width);
  if (!result.checks.empty())
    text += "\n" + tr("Checks") + "\n" + checks_text(scenario, result, false, width);
  text += "\n" + tr("Findings") + "\n";
  text += result.findings.empty() ? "  " + tr("none") + "\n" : findings_text(result, width);
  return text + "\n" + broken_off_text(scenario, result, width) + verdict_line(result);
}

std::string verdict_text(const Scenario& scenario, const RunResult& result, std::size_t width) {
  return checks_text(scenario, result, true, width) + findings_text(result, width) +
         broken_off_text(scenario, result, width) + verdict_line(result);
}

}  // namespace drybus::tools
