#include "tools/call/entry_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "model/call/words.h"
#include "tools/script/site_index.h"

namespace drybus::tools {

namespace {

/// A value as it may be written on one line.
std::string flow(const Node& node) {
  std::vector<std::string> parts;
  switch (node.kind) {
    case Node::Kind::nothing:
      return {};
    case Node::Kind::word:
      return node.text;
    case Node::Kind::list:
      for (const Node* item : node.items) parts.push_back(flow(*item));
      break;
    case Node::Kind::map:
      for (const Node::Entry& entry : node.entries)
        parts.push_back(fmt::format("{} {}", entry.key->text, flow(*entry.value)));
      break;
  }
  return fmt::format("{}", fmt::join(parts, ", "));
}

/// How a name or a label is said; as it is where there is none such.
struct Called {
  std::string name;
  std::string rest;  ///< what stands behind it, with the blank before it
};
Called called_at_the_start(const model::Site& site, const std::string& text) {
  Complaints nobody;
  const SiteIndex index{site, nobody, true};
  const std::size_t named = index.device_name_in(text);
  const auto device = index.device({}, text.substr(0, named));
  if (!device) return {text, {}};
  return {model::called(site, *device), text.substr(named)};
}

std::string with_label(const model::Site& site, const std::string& text) {
  const Called called = called_at_the_start(site, text);
  return called.name + called.rest;
}

std::string labels_of(const model::Site& site, const Node& list) {
  if (list.kind != Node::Kind::list) return with_label(site, flow(list));
  std::vector<std::string> labels;
  for (const Node* item : list.items) labels.push_back(with_label(site, flow(*item)));
  return fmt::format("{}", fmt::join(labels, ", "));
}

std::string addressed_words(const model::Site& site, const Node& addressed) {
  const Node* with = addressed.find("with");
  const Node* modules = addressed.find("modules");
  if (with == nullptr || modules == nullptr) return "addressed " + flow(addressed);
  return fmt::format("addressed {} with {}", labels_of(site, *modules), labels_of(site, *with));
}

bool goes_with_an_action(const std::string& key) {
  return key == "unsure" || key == "for" || key == "text" || key == "comment" || key == "at";
}

std::string action_words(const LoadedReport& report, const std::string& key, const Node& value) {
  const model::Site& site = report.call.believed.site;
  if (key == "seen" || key == "see") return seen_words(report, value);
  if (key == "press" || key == "hold") return fmt::format("{} {}", key, with_label(site, flow(value)));
  if (key == "walk") return "go to " + flow(value);
  if (key == "addressed") return addressed_words(site, value);
  return fmt::format("{} {}", key, flow(value));
}

/// The statement that was read off this key, if one was.
const model::Seen* read_off(const LoadedReport& report, const Node& key) {
  const auto& all = report.call.seen;
  const auto found = std::find_if(all.begin(), all.end(), [&](const model::Seen& seen) {
    return seen.mark.file == 0 && seen.mark.line == key.place.mark.line &&
           seen.mark.column == key.place.mark.column;
  });
  return found == all.end() ? nullptr : &*found;
}

}  // namespace

std::string seen_words(const LoadedReport& report, const Node& seen) {
  std::vector<std::string> parts;
  for (const Node::Entry& entry : seen.entries) {
    if (entry.key->text == "unsure") continue;
    const model::Seen* read = read_off(report, *entry.key);
    parts.push_back(read != nullptr ? model::said(report.call.believed.site, *read)
                                    : fmt::format("{} {}", entry.key->text, flow(*entry.value)));
  }
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::string step_words(const LoadedReport& report, const Node& step) {
  std::string text;
  for (const Node::Entry& entry : step.entries) {
    if (goes_with_an_action(entry.key->text)) continue;
    if (!text.empty()) text += ", ";
    text += action_words(report, entry.key->text, *entry.value);
  }
  if (const Node* length = step.find("for")) text += " for " + flow(*length);
  if (const Node* at = step.find("at")) text += " at " + flow(*at);
  if (const Node* why = step.find("text")) text += fmt::format(" ({})", flow(*why));
  return text;
}

std::string never_words(const model::Site& site, const std::string& written) {
  const Called called = called_at_the_start(site, written);
  return called.name + " never" + called.rest;
}

}  // namespace drybus::tools
