// A page of HTML as PDF, by WeasyPrint: it sets pages as CSS Paged Media has them, with numbers, and keeps together what
// belongs together.
#pragma once

#include <string>
#include <string_view>

namespace drybus::tools {

/// Whether a file of this name is to be a PDF: by its ending.
bool names_pdf(std::string_view path);

/// The PDF of a page that stands alone: whatever it refers to is not fetched. Throws Unusable where WeasyPrint is not
/// installed, or fails.
std::string pdf_of(std::string_view html);

/// How many pages a PDF of `pdf_of` has.
std::size_t pages_of(std::string_view pdf);

}  // namespace drybus::tools
