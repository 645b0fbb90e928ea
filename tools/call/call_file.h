// The one file of a guided repair: a report, or the lines that it is asked for with, and every answer since. It is
// whole on the disk after each of them, whatever happens next.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "tools/script/reader.h"

namespace drybus::tools {

class CallFile {
 public:
  /// Takes the file as it is, or none yet. Throws Unusable with everything that is wrong with it.
  explicit CallFile(std::string path);

  [[nodiscard]] const std::string& path() const { return path_; }

  // --- while the report is still being asked for ---

  [[nodiscard]] bool has_report() const { return report_.has_value(); }
  /// What was answered so far on the way to a report.
  [[nodiscard]] const std::vector<std::string>& intake() const { return intake_; }
  void set_intake(std::vector<std::string> lines);
  /// The report is complete: its text takes the place of what was asked. Throws Unusable with everything wrong with it.
  void set_report(const std::string& text);
  /// The same for a text that somebody may have told wrongly: what is wrong with it, in a sentence; empty: it is taken.
  [[nodiscard]] std::string try_report(const std::string& text);

  // --- a report ---

  /// REQUIRES: has_report().
  [[nodiscard]] const LoadedReport& report() const { return *report_; }
  [[nodiscard]] LoadedReport& report() { return *report_; }
  /// Throws Unusable where `answers` is not the last key of the file.
  void add(const model::CallAnswer& answer);
  /// Something that was done or seen without being asked for, while the repair goes on: a sentence as in told_text.h.
  /// What is wrong with it; empty: it is added. Throws Unusable likewise.
  [[nodiscard]] std::string add_remark(const std::string& sentence);
  /// False: there is none to be taken back.
  bool take_back();

  /// As it stands on the disk, unless somebody else has written there since.
  [[nodiscard]] const std::string& text() const { return text_; }
  /// Takes what somebody else has written since. True: there was something. Throws Unusable with what is wrong with it.
  bool refresh();

 private:
  [[nodiscard]] Reading<LoadedReport> with_entry(const std::string& entry, std::string& text) const;
  void take(std::string text);
  void keep_capture(LoadedReport report);
  /// Throws Unusable where somebody else has written since.
  void write(std::string text);

  std::string path_;
  std::string text_;
  std::vector<std::string> intake_;
  std::optional<LoadedReport> report_;
};

/// An answer as it stands in the file, an entry of a list.
std::string answer_text(const LoadedScenario& told, const model::CallAnswer& answer);

}  // namespace drybus::tools
