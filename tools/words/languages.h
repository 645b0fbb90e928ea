// The languages that the program carries: English, in which all is written, and one for each tools/words/*.po.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "tools/words/catalogue.h"

namespace drybus::tools {

/// A compiled catalogue: "de.mo".
struct WordFile {
  std::string_view name;
  std::string_view content;
};
/// Made when the program is built.
std::span<const WordFile> word_files();

/// "de", "en": sorted.
std::vector<std::string> languages();
bool is_language(std::string_view name);

/// The words of a language that the program carries; null for English, and for one that it does not.
const Catalogue* words_of(std::string_view language);

/// Of what a browser would rather read (Accept-Language; RFC 9110, 12.5.4) the first that the program carries; "en" where there
/// is none. Of a language's kinds ("de-AT") the language counts.
std::string best_language(std::string_view accepted);

/// Of the name of a locale ("de_DE.UTF-8", "C") its language where the program carries it; else "en".
std::string language_of_locale(std::string_view locale);

/// What a page is told of a language; see tools/panel/page/words.js.
std::string_view words_for_page(std::string_view language);

}  // namespace drybus::tools
