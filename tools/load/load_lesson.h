// Loading a lesson, with every problem told.
#pragma once

#include <string>

#include "tools/script/lesson.h"

namespace drybus::tools {

/// Throws Unusable with everything that is wrong with it.
LoadedLesson load_lesson(const std::string& path);

}  // namespace drybus::tools
