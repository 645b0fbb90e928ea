#include "tools/view/handout.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/record/family_names.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "tools/base/utf8.h"
#include "tools/view/story.h"

namespace drybus::tools {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr std::string_view special = "\\`*_{}[]<>#|~&$";

/// Whether a step is done with a cover off, or at the switchboard.
bool is_near_wiring(StepKind kind) {
  switch (kind) {
    case StepKind::switches:
    case StepKind::power:
    case StepKind::fault:
      return true;
    case StepKind::press:
    case StepKind::hold:
    case StepKind::wait:
    case StepKind::walk:
    case StepKind::see:
    case StepKind::expect:
    case StepKind::note:
      return false;
  }
  return false;
}

/// The same of what a finding's remedy asks for.
bool is_near_wiring(FindingId id) {
  switch (id) {
    case FindingId::orphan_address:
    case FindingId::site_overlap:
    case FindingId::factory_site:
    case FindingId::zone_zero:
    case FindingId::out_of_reach:
    case FindingId::stuck_button:
    case FindingId::powers_up_lit:
    case FindingId::write_lost:
    case FindingId::not_understood:
    case FindingId::master_next_door:
      return true;
    case FindingId::setup_split:
    case FindingId::assign_unheard:
    case FindingId::press_misread:
    case FindingId::two_plates_in_setup:
    case FindingId::shared_address:
    case FindingId::wrong_address:
    case FindingId::unaddressed:
    case FindingId::telegram_lost:
    case FindingId::blip_asleep:
    case FindingId::scene_in_motion:
    case FindingId::scene_missed:
    case FindingId::scene_of_before:
    case FindingId::scene_unset:
    case FindingId::scene_overwritten:
    case FindingId::scene_wrong:
      return false;
  }
  return false;
}

std::string row(const std::vector<std::string>& cells) {
  std::string text = "|";
  for (const std::string& cell : cells) text += " " + cell + (cell.empty() ? "|" : " |");
  return text + "\n";
}

std::string head(const std::vector<std::string>& titles) {
  return row(titles) + row(std::vector<std::string>(titles.size(), "---"));
}

std::string heading(const std::string& text) {
  return "## " + text + "\n\n";
}

/// Paragraphs, as blank lines part them.
std::string paragraphs(std::string_view text) {
  std::string markdown;
  std::string paragraph;
  const auto end_paragraph = [&] {
    const std::string escaped = markdown_escaped(paragraph);
    if (!escaped.empty()) markdown += escaped + "\n\n";
    paragraph.clear();
  };
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    if (line.find_first_not_of(" \t\r") == std::string_view::npos) end_paragraph();
    paragraph += std::string{line} + " ";
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  end_paragraph();
  return markdown;
}

std::string device_row(const Scenario& scenario, const World& world, DeviceId device) {
  const Site& site = scenario.site;
  const auto fact = [&](Fact f) { return fact_text(scenario, world, device, f); };
  std::string intended = "-";
  std::string now;
  if (site.is_plate(device)) {
    now = tr("site {}, zone {}", fact(Fact::site), fact(Fact::zone));
  } else {
    const auto& wanted = site.modules[site.module_index(device)].intended;
    if (wanted) intended = to_string(*wanted);
    const std::string address = fact(Fact::address);
    now = address == "none" ? tr("address none") : tr("address {}", address);
  }
  const std::string label = site.title(device) == site.name(device) ? "" : site.title(device);
  return row({markdown_escaped(site.name(device)), markdown_escaped(label),
              site.is_plate(device) ? tr("plate") : tr("module"),
              markdown_escaped(site.places[site.place(device)].name), intended, now});
}

std::string devices_section(const Scenario& scenario, const World& world) {
  std::string text = heading(tr("On site")) + head({tr("name"), tr("label"), tr("kind"), tr("place"),
                                                    tr("intended"), tr("at the end")});
  for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
    text += device_row(scenario, world, static_cast<DeviceId>(i));
  }
  return text + "\n";
}

std::string story_section(const Scenario& scenario, const RunResult& result) {
  std::string text =
      heading(tr("What happened")) +
      head({tr("when"), tr("what was done"), tr("what was seen"), tr("hidden: nobody on site can see it")});
  std::string last_time;
  for (const StoryLine& line : story_lines(scenario, result)) {
    const std::string time = clock_text(line.at);
    const std::string when = time == last_time ? "" : time;
    const std::string told = markdown_escaped(line.text);
    last_time = time;
    switch (line.kind) {
      case StoryLine::Kind::done:
        text += row({when, told, "", ""});
        break;
      case StoryLine::Kind::seen:
        text += row({when, "", told, ""});
        break;
      case StoryLine::Kind::hidden:
        text += row({when, "", "", told});
        break;
    }
  }
  return text + "\n";
}

/// A file's name as a link.
std::string link_to(std::string_view file) {
  constexpr std::string_view plain = "-._~";
  std::string link;
  for (const char c : file) {
    const bool kept = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                      plain.find(c) != std::string_view::npos;
    link += kept ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return link;
}

/// Most readers of Markdown show no picture that is part of the text, so it has to be a file.
std::string picture_section(const HandoutOptions& options) {
  if (!options.picture.empty()) {
    const std::string rest =
        options.picture_is_part
            ? tr("That is its first chapter. All of them:") +
                  fmt::format("\n\n    drybus draw {} -o timeline.html\n\n", harmless(options.scenario))
            : "";
    return fmt::format("![{}]({})\n\n{}", tr("The timeline of the run"), link_to(options.picture), rest);
  }
  return tr("The picture of it:") +
         fmt::format("\n\n    drybus draw {} -o timeline.svg\n\n", harmless(options.scenario));
}

std::string lessons_section(const RunResult& result) {
  std::string text = heading(tr("What to learn"));
  if (result.findings.empty()) text += tr("Nothing was out of step.") + "\n\n";
  for (const Finding& finding : result.findings) {
    text += fmt::format("### {}, {}\n\n", to_string(finding.id), span_text(finding));
    text += paragraphs(finding.text) + "**" + tr("Remedy.") + "** " + paragraphs(finding.remedy);
  }
  return text;
}

std::string checks_section(const Scenario& scenario, const RunResult& result) {
  if (result.checks.empty()) return "";
  std::string text = heading(tr("Checks")) + head({tr("when"), tr("what"), tr_as("column", "holds")});
  for (const CheckResult& check : result.checks) {
    text += row({clock_text(check.at), markdown_escaped(describe(scenario, scenario.checks[check.check])),
                 check.passed ? tr("yes") : tr("**no**: in fact {}", markdown_escaped(check.actual))});
  }
  return text + "\n";
}

}  // namespace

std::string markdown_escaped(std::string_view text) {
  std::string line;
  for (const char c : text) line += c == '\n' || c == '\r' || c == '\t' ? ' ' : c;
  line = harmless(line);
  std::string escaped;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == ' ' && (escaped.empty() || escaped.back() == ' ')) continue;
    const bool begins_link =
        std::string_view{line}.substr(i).starts_with("://") || (c == '.' && escaped.ends_with("www"));
    if (c == '<') {
      escaped += "&lt;";  // not a tag for any reader, however it treats a backslash
      continue;
    }
    if (begins_link || special.find(c) != std::string_view::npos) escaped += '\\';
    escaped += c;
  }
  if (escaped.ends_with(' ')) escaped.pop_back();
  // What would begin a list or underline a heading.
  const std::size_t digits = std::min(escaped.find_first_not_of("0123456789"), escaped.size());
  const std::size_t mark =
      digits < escaped.size() && (escaped[digits] == '.' || escaped[digits] == ')') ? digits : 0;
  const bool begins =
      mark > 0 || (!escaped.empty() && std::string_view{"-+="}.find(escaped[0]) != std::string_view::npos);
  return begins ? escaped.insert(mark, "\\") : escaped;
}

bool touches_wiring(const Scenario& scenario, const RunResult& result) {
  const auto near = [](const Step& step) { return is_near_wiring(step.kind); };
  return std::any_of(scenario.people.begin(), scenario.people.end(),
                     [&](const Person& person) {
                       return std::any_of(person.script.begin(), person.script.end(), near);
                     }) ||
         std::any_of(result.findings.begin(), result.findings.end(),
                     [](const Finding& finding) { return is_near_wiring(finding.id); });
}

std::string handout(const Scenario& scenario, const RunResult& result, std::uint64_t seed,
                    const HandoutOptions& options) {
  std::string text = "# " + markdown_escaped(scenario.title) + "\n\n" + paragraphs(scenario.about);
  if (touches_wiring(scenario, result))
    text += fmt::format("> **{}** {}\n\n", tr("Caution."), in_words_spoken(safety_caution));
  text += devices_section(scenario, result.world);
  text += story_section(scenario, result);
  text += picture_section(options);
  text += lessons_section(result) + checks_section(scenario, result);
  text += tr("Family {}, seed {}; ended at {}; digest `{}`.", markdown_escaped(family_names(scenario.site)),
             seed, clock_text(result.world.now), result.digest.hex()) +
          "\n";
  if (!options.replay.empty())
    text += fmt::format("\n{}\n\n    {}\n", tr("Replay:"), harmless(options.replay));
  return text;
}

}  // namespace drybus::tools
