// The questions of a lesson, off its mapping.
#pragma once

#include "model/lesson/lesson.h"
#include "tools/script/fields.h"
#include "tools/script/loader.h"

namespace drybus::tools {

/// Reads everything but the scenario. REQUIRES: lesson.scenario is complete.
void read_questions(const Fields& fields, Loader& loader, Complaints& complaints, model::Lesson& lesson,
                    std::vector<Place>& places);

}  // namespace drybus::tools
