#include "tools/lesson/class_room.h"

#include "model/run/run.h"

namespace drybus::tools {

ClassRoom::ClassRoom(LoadedLesson loaded)
    : loaded_(std::make_shared<const LoadedLesson>(std::move(loaded))),
      panel_(Task{loaded_->story, loaded_}),
      pupil_id_(panel_.join(RealTime::zero())) {}

std::string ClassRoom::take_messages() {
  std::string all = "[";
  for (const Letter& letter : panel_.take_letters()) {
    if (all.size() > 1) all += ',';
    all += *letter.text;
  }
  return all + "]";
}

std::string ClassRoom::digest() const {
  model::RunOptions options;
  return model::run(loaded_->lesson.scenario, options).digest.hex();
}

}  // namespace drybus::tools
