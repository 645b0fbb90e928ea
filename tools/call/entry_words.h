// A step, a look or a complaint of a report's text in the words in which it is told: labels, not names.
#pragma once

#include <string>

#include "tools/script/reader.h"
#include "tools/script/tree.h"

namespace drybus::tools {

/// "press Hall plate up", "the lamp of Table blinks, Door is off"; what has no words of its own as it is written.
std::string step_words(const LoadedReport& report, const Node& step);

/// Of a mapping of what to what, as `seen` and `complaint` have it.
std::string seen_words(const LoadedReport& report, const Node& seen);

/// "M3 reacts" as "Entrance never reacts".
std::string never_words(const model::Site& site, const std::string& written);

}  // namespace drybus::tools
