// What was told in a call, entry by entry, as it stands in the text of its file: read in words, added to while somebody
// speaks, marked and taken out again. Everything else in the text stays as its author wrote it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "tools/script/quantity.h"
#include "tools/script/reader.h"

namespace drybus::tools {

struct CallNote {
  enum class Kind {
    done,      ///< a step of the script
    seen,      ///< a look, within the script or when all was done
    never,     ///< what never happens
    complaint  ///< what they call for
  };
  Kind kind = Kind::done;
  std::string text;  ///< "press Hall plate up", "Table is on"
  bool unsure = false;
  bool in_script = false;
  bool own_lines = false;        ///< it has lines of its own, as whoever writes a list line by line gives it
  std::uint32_t first_line = 0;  ///< from 1
  std::uint32_t last_line = 0;
};

/// "done", "seen", "never", "complaint".
std::string_view to_string(CallNote::Kind kind);

/// What a sentence says was done or seen meanwhile, as an entry of the answers.
Quantity<std::string> remark_of(const model::Site& site, const std::string& sentence);

/// The text of a report with another title; nothing where its title goes over several lines.
std::optional<std::string> with_title(const std::string& text, const std::string& title);

class ToldText {
 public:
  /// `text`: what `report` was read from. `path`: its file.
  ToldText(const LoadedReport& report, std::string text, std::string path);

  /// Those of the script in its order, then what was seen in the end, what never happens, and the complaint.
  [[nodiscard]] const std::vector<CallNote>& entries() const { return entries_; }

  /// The text with one thing more, told in a sentence: "press Hall plate up", "perhaps Table blinks", "Door never reacts",
  /// "complaint Door is off". `before`: an entry of the script. Whether the whole can be read is for the file to say.
  [[nodiscard]] Quantity<std::string> with(const std::string& sentence,
                                           std::optional<std::size_t> before = {}) const;
  /// Without one. REQUIRES: entry < entries().size(), as below.
  [[nodiscard]] Quantity<std::string> without(std::size_t entry) const;
  /// With one that nobody is sure of, or everybody is again.
  [[nodiscard]] Quantity<std::string> marked(std::size_t entry, bool unsure) const;

 private:
  using Lines = std::vector<std::string>;

  [[nodiscard]] Quantity<std::string> with_item(const struct ToldItem& item,
                                                std::optional<std::size_t> before) const;
  [[nodiscard]] bool add_to_list(Lines& lines, const std::string& key, const std::string& item,
                                 std::optional<std::uint32_t> line) const;
  [[nodiscard]] bool seen_into_script(Lines& lines) const;
  [[nodiscard]] std::size_t count_in(CallNote::Kind kind, bool in_script) const;

  const LoadedReport& report_;
  Lines lines_;
  std::vector<CallNote> entries_;
};

}  // namespace drybus::tools
