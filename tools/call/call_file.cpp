#include "tools/call/call_file.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/call/told_text.h"
#include "tools/call/written.h"
#include "tools/script/fields.h"
#include "tools/script/loader.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::tr;

namespace {

constexpr std::string_view intake_head = "drybus-report: 1\nintake:";

std::string seen_text(const model::Site& site, const model::Seen& seen) {
  return fmt::format("{}.{}: {}", site.name(seen.device), to_string(seen.fact), seen.what);
}

/// What was seen when all was done. A mapping has one statement on each thing; of two there is a list.
std::string seen_at_the_end(const model::Site& site, const model::CallAnswer& answer) {
  std::vector<std::string> texts;
  std::set<std::pair<model::DeviceId, model::Fact>> things;
  bool twice = false;
  for (const model::Seen& seen : answer.seen) {
    if (seen.after_step && *seen.after_step + 1 < answer.steps.size()) continue;
    texts.push_back(seen_text(site, seen));
    twice = twice || !things.insert({seen.device, seen.fact}).second;
  }
  for (const model::SwitchReading& read : answer.read)
    texts.push_back(fmt::format("{}.switches: {}/{}", site.name(read.plate), read.site, read.zone));
  if (texts.empty()) return {};
  return twice ? fmt::format("  seen: [{{{}}}]\n", fmt::join(texts, "}, {"))
               : fmt::format("  seen: {{{}}}\n", fmt::join(texts, ", "));
}

std::string steps_text(const LoadedScenario& told, const model::CallAnswer& answer) {
  std::vector<std::string> texts;
  for (std::uint32_t i = 0; i < answer.steps.size(); ++i) {
    texts.push_back(write_step(told, answer.steps[i]));
    for (const model::Seen& seen : answer.seen) {
      if (seen.after_step == i && i + 1 < answer.steps.size())
        texts.push_back(fmt::format("{{seen: {{{}}}}}", seen_text(told.scenario.site, seen)));
    }
  }
  return texts.empty() ? "" : fmt::format("  steps: [{}]\n", fmt::join(texts, ", "));
}

/// The lines of a call that is not a report yet, if the text is one.
std::optional<std::vector<std::string>> intake_of(const std::string& path, const std::string& text) {
  if (!text.starts_with("drybus-report: 1") || text.find("\nintake:") == std::string::npos)
    return std::nullopt;
  Complaints complaints;
  const DiskFiles files;
  Loader loader{files, complaints};
  const Node* root = loader.take({path, text});
  const Node* list = root == nullptr ? nullptr : root->find("intake");
  std::vector<std::string> lines;
  if (list != nullptr && is_kind(complaints, *list, Node::Kind::list, "intake")) {
    for (const Node* item : list->items) lines.push_back(item->text);
  }
  if (complaints.any()) throw Unusable{to_text(complaints.sorted())};
  return lines;
}

std::string text_of(const std::string& path) {
  allow_update(path);
  const DiskFiles files;
  auto text = files.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text))
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  return std::move(std::get<std::string>(text));
}

}  // namespace

std::string answer_text(const LoadedScenario& told, const model::CallAnswer& answer) {
  return fmt::format("- {}: {}\n  answer: {}\n{}{}", to_string(answer.about), in_quotes(answer.question),
                     answer.answer, steps_text(told, answer), seen_at_the_end(told.scenario.site, answer));
}

CallFile::CallFile(std::string path) : path_(std::move(path)) {
  claim_output("FILE", path_);
  const DiskFiles files;
  if (files.exists(path_)) take(text_of(path_));
}

bool CallFile::refresh() {
  const DiskFiles files;
  if (!files.exists(path_)) return false;
  std::string text = text_of(path_);
  if (text == text_) return false;
  take(std::move(text));
  return true;
}

void CallFile::take(std::string text) {
  if (auto lines = intake_of(path_, text)) {
    intake_ = std::move(*lines);
    report_.reset();
    text_ = std::move(text);
    return;
  }
  auto reading = read_report_text(text, path_);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  keep_capture(std::move(reading.value()));
  text_ = std::move(text);
  intake_.clear();
}

/// What was captured is no part of the text, and stays.
void CallFile::keep_capture(LoadedReport report) {
  if (report_) {
    report.call.capture = report_->call.capture;
    report.report.capture = report_->call.capture;
    report.call.capture_in_part = report_->call.capture_in_part;
  }
  report_ = std::move(report);
}

void CallFile::write(std::string text) {
  const DiskFiles files;
  if (files.exists(path_) && text_of(path_) != text_) {
    throw Unusable{
        tr("{}: somebody else has gone on with this call, at another terminal or on a page; open it again",
           path_)};
  }
  write_file(path_, text);
  allow_update(path_);
  text_ = std::move(text);
}

void CallFile::set_intake(std::vector<std::string> lines) {
  std::string text{intake_head};
  if (lines.empty()) text += " []";
  text += "\n";
  for (const std::string& line : lines) text += fmt::format("- {}\n", in_quotes(line));
  write(std::move(text));
  intake_ = std::move(lines);
}

void CallFile::set_report(const std::string& text) {
  auto reading = read_report_text(text, path_);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  write(text);
  keep_capture(std::move(reading.value()));
  intake_.clear();
}

std::string CallFile::try_report(const std::string& text) {
  auto reading = read_report_text(text, path_);
  if (!reading.ok()) return in_a_sentence(reading.problems().front());
  write(text);
  keep_capture(std::move(reading.value()));
  intake_.clear();
  return {};
}

/// The report with one answer more, and its text.
Reading<LoadedReport> CallFile::with_entry(const std::string& entry, std::string& text) const {
  text = text_;
  if (!text.ends_with('\n')) text += '\n';
  // An empty list of answers is left by the last one that was taken back.
  if (report_->answers.empty() && text.find("\nanswers:") == std::string::npos) text += "answers:\n";
  text += entry;
  return read_report_text(text, path_);
}

void CallFile::add(const model::CallAnswer& answer) {
  std::string text;
  auto reading = with_entry(answer_text(report_->told, answer), text);
  const bool added = reading.ok() && reading.value().answers.size() == report_->answers.size() + 1;
  if (!added) {
    throw Unusable{
        tr("{}: the answer cannot be added: 'answers' has to be the last key of the file, "
           "written as a list with '- ' at the start of each line",
           path_)};
  }
  write(std::move(text));
  keep_capture(std::move(reading.value()));
}

std::string CallFile::add_remark(const std::string& sentence) {
  const auto told = remark_of(report_->call.believed.site, sentence);
  if (!told) return in_a_sentence(told.error());
  std::string text;
  auto reading = with_entry(*told, text);
  if (!reading.ok()) return in_a_sentence(reading.problems().front());
  write(std::move(text));
  keep_capture(std::move(reading.value()));
  return {};
}

bool CallFile::take_back() {
  if (report_->answers.empty()) return false;
  std::size_t at = 0;
  for (std::uint32_t line = 1; line < report_->answers.back().line && at != std::string::npos; ++line)
    at = text_.find('\n', at) + 1;
  std::string text = text_.substr(0, at);
  auto reading = read_report_text(text, path_);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  write(std::move(text));
  keep_capture(std::move(reading.value()));
  return true;
}

}  // namespace drybus::tools
