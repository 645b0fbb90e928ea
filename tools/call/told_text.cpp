#include "tools/call/told_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/words/words.h"
#include "tools/base/trimmed.h"
#include "tools/call/entry_words.h"
#include "tools/call/said.h"
#include "tools/call/told_step.h"
#include "tools/call/written.h"
#include "tools/script/loader.h"

namespace drybus::tools {

using model::tr;

namespace {

constexpr std::string_view perhaps = "perhaps ";
constexpr std::string_view complaint = "complaint ";
constexpr std::string_view unsure_flow = ", unsure: yes";

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    lines.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return lines;
}

std::string joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) text += line + "\n";
  return text;
}

std::size_t indent_of(const std::string& line) {
  return std::min(line.find_first_not_of(' '), line.size());
}

bool is_item(const std::string& line) {
  return std::string_view{line}.substr(indent_of(line)).starts_with("- ");
}

/// The last line of what begins on line `first` and goes on as long as lines are indented deeper. Lines from 1.
std::uint32_t last_of(const std::vector<std::string>& lines, std::uint32_t first, std::size_t indent) {
  std::uint32_t last = first;
  for (std::uint32_t line = first + 1; line <= lines.size(); ++line) {
    const std::string& text = lines[line - 1];
    if (trimmed(text).empty()) continue;
    if (indent_of(text) <= indent) break;
    last = line;
  }
  return last;
}

/// Lines from 1, both among them.
struct Block {
  std::uint32_t first = 0;
  std::uint32_t last = 0;
};

/// A key of the report with all that stands under it; a list may do so without being indented.
std::optional<Block> block_of(const std::vector<std::string>& lines, const std::string& key) {
  const auto head = std::find_if(lines.begin(), lines.end(),
                                 [&](const std::string& line) { return line.starts_with(key + ":"); });
  if (head == lines.end()) return std::nullopt;
  Block block;
  block.first = block.last = static_cast<std::uint32_t>(head - lines.begin() + 1);
  for (std::uint32_t line = block.first + 1; line <= lines.size(); ++line) {
    const std::string& text = lines[line - 1];
    if (trimmed(text).empty()) continue;
    if (indent_of(text) == 0 && !is_item(text)) break;
    block.last = line;
  }
  return block;
}

void erase(std::vector<std::string>& lines, const Block& block) {
  lines.erase(lines.begin() + (block.first - 1), lines.begin() + block.last);
}

bool is_unsure(const Node& node) {
  const Node* marked = node.find("unsure");
  const Node* within = node.find("seen");
  if (marked == nullptr && within != nullptr) marked = within->find("unsure");
  return marked != nullptr && marked->text == "yes";
}

QuantityError by_hand(std::string_view what) {
  return {tr("{} is written in a way that only its author can go on with", what),
          tr("a list with a line for each entry, '- ' at its start"),
          {}};
}

bool begins_as_an_action(const std::string& sentence) {
  constexpr std::array beginnings = {"addressed ", "address ", "press ", "pressed ", "hold ",    "held ",
                                     "wait ",      "waited ",  "go to ", "went to ", "walk to ", "power "};
  return std::any_of(beginnings.begin(), beginnings.end(),
                     [&](const char* beginning) { return sentence.starts_with(beginning); });
}

}  // namespace

std::string_view to_string(CallNote::Kind kind) {
  switch (kind) {
    case CallNote::Kind::done:
      return "done";
    case CallNote::Kind::seen:
      return "seen";
    case CallNote::Kind::never:
      return "never";
    case CallNote::Kind::complaint:
      return "complaint";
  }
  return {};
}

/// What a sentence adds, as it will stand in the text.
struct ToldItem {
  CallNote::Kind kind = CallNote::Kind::done;
  std::string step;  ///< of the script: "{press: \"Hall plate up\"}"
  std::string seen;  ///< what was seen: "M1.load: lit"
  std::string never;
  bool unsure = false;
};

namespace {

/// "Hall plate switches show 23/4"
Quantity<ToldItem> told_reading(const std::string& sentence, std::size_t at) {
  const std::size_t last = sentence.find_last_of(' ');
  ToldItem item;
  item.kind = CallNote::Kind::seen;
  item.seen = fmt::format("{}: {}", in_quotes(sentence.substr(0, at) + ".switches"),
                          in_quotes(sentence.substr(last + 1)));
  return item;
}

Quantity<ToldItem> told_sight(const model::Site& site, std::string rest) {
  if (rest.starts_with("saw ")) rest.erase(0, 4);
  if (rest.starts_with("seen ")) rest.erase(0, 5);
  if (const std::size_t at = rest.find(" switches "); at != std::string::npos) return told_reading(rest, at);
  const auto said = parse_said(site, rest);
  if (!said) return said.error();
  ToldItem item;
  item.kind = CallNote::Kind::seen;
  item.seen = fmt::format("{}.{}: {}", site.name((*said).device), to_string((*said).fact), (*said).what);
  return item;
}

Quantity<ToldItem> told_action(const model::Site& site, const std::string& line) {
  const auto step = told_step(site, line);
  if (!step) return step.error();
  ToldItem item;
  item.step = *step;
  return item;
}

Quantity<ToldItem> told_item(const model::Site& site, const std::string& sentence) {
  std::string rest{trimmed(sentence)};
  const bool complains = rest.starts_with(complaint);
  if (complains) rest.erase(0, complaint.size());
  const bool unsure = rest.starts_with(perhaps);
  const std::string sure = unsure ? rest.substr(perhaps.size()) : rest;
  if (const std::size_t at = sure.find(" never "); at != std::string::npos) {
    ToldItem item;
    item.kind = complains ? CallNote::Kind::complaint : CallNote::Kind::never;
    item.never = in_quotes(sure.substr(0, at) + sure.substr(at + 6));
    return item;
  }
  if (begins_as_an_action(sure)) {
    if (complains)
      return QuantityError{tr("they call for something that is seen"), "'complaint Table is off'", {}};
    return told_action(site, rest);
  }
  auto item = told_sight(site, sure);
  if (!item) return item;
  ToldItem seen = *item;
  seen.unsure = unsure;
  if (complains) seen.kind = CallNote::Kind::complaint;
  return seen;
}

}  // namespace

Quantity<std::string> remark_of(const model::Site& site, const std::string& sentence) {
  const auto item = told_item(site, sentence);
  if (!item) return item.error();
  const ToldItem& told = *item;
  if (told.kind == CallNote::Kind::never || told.kind == CallNote::Kind::complaint) {
    return QuantityError{tr("that belongs to the call, and the repair has begun"),
                         tr("what is seen or was done meanwhile"),
                         {}};
  }
  if (told.kind == CallNote::Kind::done)
    return fmt::format("- check: \"Done meanwhile\"\n  answer: something else\n  steps: [{}]\n", told.step);
  return fmt::format("- check: \"Seen meanwhile\"\n  answer: something else\n  seen: {{{}{}}}\n", told.seen,
                     told.unsure ? unsure_flow : "");
}

std::optional<std::string> with_title(const std::string& text, const std::string& title) {
  std::vector<std::string> lines = lines_of(text);
  const std::string line = "title: " + in_quotes(title);
  const auto block = block_of(lines, "title");
  if (!block) {
    if (lines.empty()) return std::nullopt;
    const auto head = block_of(lines, "drybus-report");
    lines.insert(lines.begin() + (head ? head->first : 0), line);
    return joined(lines);
  }
  if (block->last != block->first) return std::nullopt;
  lines[block->first - 1] = line;
  return joined(lines);
}

// --- what is there ---

ToldText::ToldText(const LoadedReport& report, std::string text, std::string path)
    : report_(report), lines_(lines_of(text)) {
  Complaints complaints;
  const DiskFiles files;
  Loader loader{files, complaints};
  const Node* root = loader.take({std::move(path), std::move(text)});
  if (root == nullptr) return;
  const auto take = [&](CallNote::Kind kind, const Node& key, const Node& item, std::string words,
                        bool of_list) {
    CallNote entry{kind, std::move(words), is_unsure(item), key.text == "script", false, 0, 0};
    entry.first_line = of_list ? item.place.mark.line : key.place.mark.line;
    if (entry.first_line < 1 || entry.first_line > lines_.size()) return;
    const std::string& line = lines_[entry.first_line - 1];
    entry.own_lines = of_list ? is_item(line) : indent_of(line) == 0;
    entry.last_line = last_of(lines_, entry.first_line, indent_of(line));
    entries_.push_back(std::move(entry));
  };
  const auto each = [&](const char* name, CallNote::Kind kind, const auto& words) {
    for (const Node::Entry& entry : root->entries) {
      if (entry.key->text != name) continue;
      const bool list = entry.value->kind == Node::Kind::list;
      if (!list) take(kind, *entry.key, *entry.value, words(*entry.value), false);
      for (const Node* item : entry.value->items) {
        const bool look = item->find("seen") != nullptr || item->find("see") != nullptr;
        take(look ? CallNote::Kind::seen : kind, *entry.key, *item, words(*item), true);
      }
    }
  };
  const model::Site& site = report.call.believed.site;
  const auto never = [&](const Node& node) { return never_words(site, node.text); };
  const auto seen = [&](const Node& node) {
    const Node* within = node.find("never");
    return within != nullptr ? never_words(site, within->text) : seen_words(report, node);
  };
  each("script", CallNote::Kind::done, [&](const Node& node) { return step_words(report, node); });
  each("seen", CallNote::Kind::seen, seen);
  each("never", CallNote::Kind::never, never);
  each("complaint", CallNote::Kind::complaint, seen);
}

std::size_t ToldText::count_in(CallNote::Kind kind, bool in_script) const {
  return static_cast<std::size_t>(std::count_if(entries_.begin(), entries_.end(), [&](const CallNote& each) {
    return in_script ? each.in_script : !each.in_script && each.kind == kind;
  }));
}

// --- one more ---

Quantity<std::string> ToldText::with(const std::string& sentence, std::optional<std::size_t> before) const {
  const auto item = told_item(report_.call.believed.site, sentence);
  if (!item) return item.error();
  return with_item(*item, before);
}

Quantity<std::string> ToldText::with_item(const ToldItem& item, std::optional<std::size_t> before) const {
  Lines lines = lines_;
  const std::string unsure{item.unsure ? unsure_flow : ""};
  std::optional<std::uint32_t> line;
  if (before && *before < entries_.size() && entries_[*before].in_script && entries_[*before].own_lines)
    line = entries_[*before].first_line;
  bool added = false;
  switch (item.kind) {
    case CallNote::Kind::done:
      // What was seen when all was done comes before what is done now.
      added = (line || seen_into_script(lines)) && add_to_list(lines, "script", item.step, line);
      break;
    case CallNote::Kind::seen:
      added = !line && count_in(CallNote::Kind::seen, false) > 0
                  ? add_to_list(lines, "seen", fmt::format("{{{}{}}}", item.seen, unsure), {})
                  : add_to_list(lines, "script", fmt::format("{{seen: {{{}}}{}}}", item.seen, unsure), line);
      break;
    case CallNote::Kind::never:
      added = add_to_list(lines, "never", item.never, {});
      break;
    case CallNote::Kind::complaint:
      added = add_to_list(
          lines, "complaint",
          item.never.empty() ? fmt::format("{{{}}}", item.seen) : fmt::format("{{never: {}}}", item.never),
          {});
      break;
  }
  if (!added) return by_hand(fmt::format("'{}'", to_string(item.kind)));
  return joined(lines);
}

/// Adds an entry to a list of the report, which is made where there is none; `line`: before the entry there. False: the
/// list is not written line by line.
bool ToldText::add_to_list(Lines& lines, const std::string& key, const std::string& item,
                           std::optional<std::uint32_t> line) const {
  auto block = block_of(lines, key);
  // They call for one thing; said again, it is something else.
  if (key == "complaint" && block) {
    erase(lines, *block);
    block.reset();
  }
  if (!block) {
    const auto answers = std::find_if(lines.begin(), lines.end(),
                                      [](const std::string& each) { return each.starts_with("answers:"); });
    const Lines made = key == "complaint" ? Lines{"complaint: " + item} : Lines{key + ":", "  - " + item};
    lines.insert(answers, made.begin(), made.end());
    return true;
  }
  std::string& head = lines[block->first - 1];
  const std::string written{trimmed(std::string_view{head}.substr(key.size() + 1))};
  if (written == "[]") head = key + ":";
  if (written != "[]" && !written.empty()) return false;
  const std::size_t indent = block->last > block->first ? indent_of(lines[block->first]) : 2;
  const std::uint32_t at = line ? *line - 1 : block->last;
  lines.insert(lines.begin() + at, std::string(indent, ' ') + "- " + item);
  return true;
}

/// Puts what was seen when all was done behind the script's last step.
bool ToldText::seen_into_script(Lines& lines) const {
  Lines looks;
  for (const CallNote& entry : entries_) {
    if (entry.kind != CallNote::Kind::seen || entry.in_script) continue;
    const std::string& line = lines_[entry.first_line - 1];
    const auto brace = line.find('{');
    if (!entry.own_lines || entry.first_line != entry.last_line || brace == std::string::npos) return false;
    looks.push_back("{seen: " + std::string{trimmed(std::string_view{line}.substr(brace))} + "}");
  }
  if (looks.empty()) return true;
  const auto block = block_of(lines, "seen");
  if (!block) return false;
  erase(lines, *block);
  return std::all_of(looks.begin(), looks.end(),
                     [&](const std::string& look) { return add_to_list(lines, "script", look, {}); });
}

// --- less, or less sure ---

Quantity<std::string> ToldText::without(std::size_t which) const {
  const CallNote& entry = entries_[which];
  if (!entry.own_lines) return by_hand(fmt::format("'{}'", entry.text));
  Lines lines = lines_;
  erase(lines, {entry.first_line, entry.last_line});
  const std::string key{entry.in_script ? "script" : to_string(entry.kind)};
  const auto block = block_of(lines, key);
  // A key of which nothing is left.
  if (block && block->first == block->last && lines[block->first - 1] == key + ":") {
    if (key == "script") {
      lines[block->first - 1] = "script: []";
    } else {
      erase(lines, *block);
    }
  }
  return joined(lines);
}

Quantity<std::string> ToldText::marked(std::size_t which, bool unsure) const {
  const CallNote& entry = entries_[which];
  const bool can_be = entry.kind == CallNote::Kind::done || entry.kind == CallNote::Kind::seen;
  if (!can_be) return QuantityError{tr("'{}' is said without reserve", entry.text), {}, {}};
  if (!entry.own_lines) return by_hand(fmt::format("'{}'", entry.text));
  if (entry.unsure == unsure) return joined(lines_);
  Lines lines = lines_;
  std::string& first = lines[entry.first_line - 1];
  std::string& last = lines[entry.last_line - 1];
  const std::size_t brace = last.rfind('}');
  const bool is_flow = brace != std::string::npos && first.find("- {") == indent_of(first);
  if (unsure && is_flow) {
    last.insert(brace, unsure_flow);
  } else if (unsure) {
    const std::string indent(indent_of(first) + 2, ' ');
    lines.insert(lines.begin() + entry.last_line, indent + "unsure: yes");
  } else if (const std::size_t at = last.find(unsure_flow); at != std::string::npos) {
    last.erase(at, unsure_flow.size());
  } else {
    const auto begin = lines.begin() + entry.first_line - 1;
    const auto end = lines.begin() + entry.last_line;
    const auto mark =
        std::find_if(begin, end, [](const std::string& line) { return trimmed(line) == "unsure: yes"; });
    if (mark == end) return by_hand(fmt::format("'{}'", entry.text));
    lines.erase(mark);
  }
  return joined(lines);
}

}  // namespace drybus::tools
