// How printed sheets look, alike for plan and handover: A4 or letter, black on white, a number on every page.
#pragma once

#include <string>

namespace drybus::tools {

/// The CSS of a sheet. `letter`: US letter in place of A4 (ISO 216).
std::string sheet_style(bool letter);

/// What the lang attribute of a page says of the words that are spoken.
std::string page_language();

/// The rows of a table under the rooms that they belong to. A room's heading stays with its first row.
class RoomRows {
 public:
  explicit RoomRows(unsigned columns) : columns_(columns) {}
  /// `room` is text, `row` is HTML.
  void add(const std::string& room, const std::string& row);
  [[nodiscard]] std::string html() const { return html_ + (open_ ? "</tbody>\n" : ""); }

 private:
  unsigned columns_;
  std::string html_, room_;
  bool begun_ = false, open_ = false;
};

/// Where somebody signs that what stands above was done.
std::string sign_lines(const std::string& what);

}  // namespace drybus::tools
