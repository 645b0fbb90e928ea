// What of a panel outlives its program. Apart from the rest, as a lesson that travels has no folder.
#include "tools/panel/keep.h"
#include "tools/panel/panel.h"

namespace drybus::tools {

KeptBench Panel::kept() const {
  KeptBench kept = kept_of(bench_);
  kept.curtain = room_->curtain();
  kept.holder = room_->holder();
  for (const Room::Viewer& viewer : room_->viewers()) {
    // Whoever looks over a pupil's shoulder has their seat elsewhere.
    if (room_->kind() == RoomKind::own && viewer.role != Role::pupil) continue;
    kept.seats.push_back({viewer.id, viewer.name, viewer.key, viewer.role});
  }
  if (questions_) kept.pupil = questions_->pupil();
  return kept;
}

void Panel::resume(const KeptBench& kept, RealTime real) {
  tools::resume(bench_, kept);
  std::vector<Room::Viewer> seats;
  for (const KeptSeat& seat : kept.seats) seats.push_back({seat.id, seat.name, seat.key, seat.role});
  room_->resume(std::move(seats), kept.holder, kept.curtain, real);
  if (questions_ && kept.pupil && kept.pupil->over.size() <= questions_->loaded().lesson.questions.size())
    questions_->resume(*kept.pupil);
  hold_story();
  reporter_ = Reporter{bench_, room_->curtain()};
  gathered_.clear();
  gather_looks();
}

}  // namespace drybus::tools
