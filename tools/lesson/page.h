// A lesson as one page: it opens without a server, a network or anything to be installed, and is the bench.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "tools/panel/page_files.h"

namespace drybus::tools {

/// The bench as it was compiled for browsers.
struct BrowserBench {
  std::string script;  ///< JavaScript that starts it
  std::string packed;  ///< WebAssembly, packed by gzip
};

/// What belongs to lessons only; beside them the page has the files of the panel's.
std::span<const PageFile> lesson_page_files();

/// HTML. `title` is any text; `language` one that the program carries.
std::string lesson_page(std::string_view title, std::string_view bundle, const BrowserBench& bench,
                        std::string_view language = "en");

/// Reads it from where it lies beside the program, built or installed. Throws Unusable with what is to be installed where it does
/// not.
BrowserBench load_browser_bench();

}  // namespace drybus::tools
