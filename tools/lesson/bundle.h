// A lesson with all that it reads, in one JSON text: what a page carries along.
#pragma once

#include <string>

#include "tools/script/lesson.h"

namespace drybus::tools {

/// {"lesson": its path, "files": [{"path", "text", "tree"}]}. Paths are told from the folder that holds them all; a family that
/// was found by its name lies in `families` there. So no folder of one's own is named.
std::string lesson_bundle(const LoadedLesson& loaded);

}  // namespace drybus::tools
