// How printed sheets look, alike for plan and handover: A4 or letter, black on white, a number on every page.
#pragma once

#include <string>

namespace drybus::tools {

/// The CSS of a sheet. `letter`: US letter in place of A4 (ISO 216).
std::string sheet_style(bool letter);

/// Where somebody signs that what stands above was done.
std::string sign_lines(const std::string& what);

}  // namespace drybus::tools
