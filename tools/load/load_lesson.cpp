#include "tools/load/load_lesson.h"

#include "tools/base/unusable.h"
#include "tools/load/file_kind.h"

namespace drybus::tools {

LoadedLesson load_lesson(const std::string& path) {
  refuse_other_kinds(path, {FileKind::lesson});
  auto reading = read_lesson(path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

}  // namespace drybus::tools
