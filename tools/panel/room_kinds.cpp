// Who may do what, in each kind of room.
#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "model/words/words.h"
#include "tools/panel/room.h"

namespace drybus::tools {

using model::tr;

namespace {

using Viewers = std::vector<Room::Viewer>;

/// The first with the role: one who is there, or else one whose seat is kept.
std::optional<ViewerId> first_with(const Viewers& viewers, Role role) {
  std::optional<ViewerId> away;
  for (const Room::Viewer& viewer : viewers) {
    if (viewer.role != role) continue;
    if (!viewer.away_since) return viewer.id;
    away = viewer.id;
  }
  return away;
}

/// A panel for this machine alone: whoever asks gets the controls in the end, and the clock with them.
class AlikeRoom final : public Room {
 public:
  [[nodiscard]] RoomKind kind() const override { return RoomKind::alike; }
  [[nodiscard]] bool leads(ViewerId id) const override { return holds(id); }
  [[nodiscard]] std::string why_no_hands(ViewerId) const override {
    return tr("Somebody else holds the controls. Ask for them.");
  }
  [[nodiscard]] std::string why_not_leading(std::string_view what) const override {
    if (what == "That") return why_no_hands(0);
    return tr("{} is for who holds the controls. Ask for them.", what);
  }

 protected:
  [[nodiscard]] std::string_view title_of(Role) const override { return "viewer"; }
  [[nodiscard]] bool takes_controls_on_coming(const Viewer&, const Viewer* holder) const override {
    return holder == nullptr;
  }
  [[nodiscard]] std::optional<std::string> why_no_asking(const Viewer&) const override {
    return std::nullopt;
  }
  [[nodiscard]] bool gets_controls_at_once(const Viewer&) const override { return !holder(); }
  [[nodiscard]] std::optional<std::string> why_no_giving(ViewerId from) const override {
    if (holds(from)) return std::nullopt;
    return tr("Only who holds the controls can give them.");
  }
  [[nodiscard]] std::optional<ViewerId> whose_controls() const override { return std::nullopt; }
  [[nodiscard]] std::optional<ViewerId> next_holder() const override {
    if (!asking().empty()) return asking().front();
    const auto first = std::find_if(viewers().begin(), viewers().end(),
                                    [](const Viewer& viewer) { return !viewer.away_since; });
    if (first != viewers().end()) return first->id;
    return viewers().empty() ? std::nullopt : std::optional{viewers().front().id};
  }
  [[nodiscard]] bool is_kept(const Viewer&) const override { return false; }
  [[nodiscard]] bool has_to_answer() const override { return true; }
};

/// The class's bench: trainers lead, and lend the hands to one pupil.
class LedRoom final : public Room {
 public:
  [[nodiscard]] RoomKind kind() const override { return RoomKind::led; }
  [[nodiscard]] bool leads(ViewerId id) const override { return is_trainer(id); }
  [[nodiscard]] std::string why_no_hands(ViewerId id) const override {
    if (is_trainer(id) && holder())
      return tr("{} has the controls now. Take them back first.", viewer(*holder()).name);
    return viewer(id).role == Role::onlooker ? tr("Onlookers cannot do that.")
                                             : tr("The controls are the trainer's. Ask for them.");
  }
  [[nodiscard]] std::string why_not_leading(std::string_view what) const override {
    return tr("{} is the trainer's.", what);
  }

 protected:
  [[nodiscard]] bool takes_controls_on_coming(const Viewer& viewer, const Viewer* holder) const override {
    const bool nobody_is_at_them = holder == nullptr || (holder->away_since && holder->role == Role::trainer);
    return nobody_is_at_them && viewer.role == Role::trainer;
  }
  [[nodiscard]] std::optional<std::string> why_no_asking(const Viewer& viewer) const override {
    if (viewer.role != Role::onlooker) return std::nullopt;
    return tr("Onlookers cannot have the controls. The join link is for pupils.");
  }
  [[nodiscard]] bool gets_controls_at_once(const Viewer& viewer) const override {
    return viewer.role == Role::trainer;
  }
  [[nodiscard]] std::optional<std::string> why_no_giving(ViewerId from) const override {
    if (is_trainer(from)) return std::nullopt;
    return tr("Only the trainer lends the controls. Give them back.");
  }
  [[nodiscard]] std::optional<ViewerId> whose_controls() const override { return next_holder(); }
  [[nodiscard]] std::optional<ViewerId> next_holder() const override {
    return first_with(viewers(), Role::trainer);
  }
  /// A lesson outlives its trainer's line, however long that is lost, unless another trainer is there.
  [[nodiscard]] bool is_kept(const Viewer& viewer) const override { return next_holder() == viewer.id; }
};

/// A pupil's own bench. Who looks over their shoulder looks; a trainer may lend a hand, and gives the controls back.
class OwnRoom final : public Room {
 public:
  [[nodiscard]] RoomKind kind() const override { return RoomKind::own; }
  [[nodiscard]] bool leads(ViewerId id) const override { return holds(id); }
  [[nodiscard]] std::string why_no_hands(ViewerId id) const override {
    if (viewer(id).role == Role::pupil) return tr("The trainer has the controls for a moment. Ask for them.");
    if (viewer(id).role == Role::onlooker) return tr("Onlookers cannot do that.");
    return tr("This is a pupil's bench. Take the controls first.");
  }
  [[nodiscard]] std::string why_not_leading(std::string_view what) const override {
    return tr("{} is for who has the controls of this bench.", what);
  }

 protected:
  [[nodiscard]] bool takes_controls_on_coming(const Viewer& viewer, const Viewer* holder) const override {
    return holder == nullptr && viewer.role == Role::pupil;
  }
  [[nodiscard]] std::optional<std::string> why_no_asking(const Viewer& viewer) const override {
    if (viewer.role != Role::onlooker) return std::nullopt;
    return tr("Onlookers cannot have the controls.");
  }
  [[nodiscard]] bool gets_controls_at_once(const Viewer& viewer) const override {
    return viewer.role == Role::trainer;
  }
  [[nodiscard]] std::optional<std::string> why_no_giving(ViewerId from) const override {
    if (is_trainer(from)) return std::nullopt;
    return tr("This bench is yours; nobody else works at it.");
  }
  [[nodiscard]] std::optional<ViewerId> whose_controls() const override { return next_holder(); }
  [[nodiscard]] std::optional<ViewerId> next_holder() const override {
    return first_with(viewers(), Role::pupil);
  }
  /// Whatever becomes of a pupil's line, what they have done stays.
  [[nodiscard]] bool is_kept(const Viewer& viewer) const override { return viewer.role == Role::pupil; }
};

}  // namespace

std::unique_ptr<Room> Room::make(RoomKind kind) {
  switch (kind) {
    case RoomKind::alike:
      return std::make_unique<AlikeRoom>();
    case RoomKind::led:
      return std::make_unique<LedRoom>();
    case RoomKind::own:
      return std::make_unique<OwnRoom>();
  }
  throw std::logic_error{"no such kind of room"};
}

}  // namespace drybus::tools
