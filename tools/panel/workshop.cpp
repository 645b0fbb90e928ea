#include "tools/panel/workshop.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/unusable.h"
#include "tools/panel/gate.h"
#include "tools/panel/request.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

Workshop::Workshop(Task task, WorkshopOptions options)
    : task_(std::move(task)),
      options_(std::move(options)),
      choosing_(options_.choosing),
      each_(options_.each) {
  class_ = make(class_bench);
}

std::unique_ptr<Panel> Workshop::make(BenchId id) const {
  const RoomKind kind = id != class_bench ? RoomKind::own : options_.led ? RoomKind::led : RoomKind::alike;
  return std::make_unique<Panel>(task_, options_.log, kind);
}

Panel& Workshop::panel(BenchId id) {
  return id == class_bench ? *class_ : *own_.at(id);
}

const Panel& Workshop::bench(BenchId id) const {
  return id == class_bench ? *class_ : *own_.at(id);
}

std::vector<BenchId> Workshop::benches() const {
  std::vector<BenchId> all{class_bench};
  for (const auto& [id, each] : own_) all.push_back(id);
  return all;
}

const Room::Viewer* Workshop::viewer(ViewerId id) const {
  const auto person = people_.find(id);
  return person == people_.end() ? nullptr : bench(person->second.home).room().find(id);
}

/// Trainers do; where all are alike, whoever has the controls of the class's bench.
bool Workshop::leads(ViewerId id) const {
  const Room::Viewer* who = viewer(id);
  return who != nullptr && (options_.led ? who->role == Role::trainer : class_->room().leads(id));
}

// --- coming and going ---

std::optional<ViewerId> Workshop::whose_key(const Newcomer& who) const {
  for (const auto& [id, person] : people_) {
    const Room::Viewer* each = viewer(id);
    const bool fits = each != nullptr && each->role == who.role && !who.key.empty();
    if (fits && equal_in_constant_time(each->key, who.key)) return id;
  }
  return std::nullopt;
}

/// Own benches at which nothing was done, and whose pupils are away.
std::vector<BenchId> Workshop::untouched() const {
  std::vector<BenchId> all;
  for (const auto& [id, each] : own_) {
    const bool away = !each->room().is_there(id);
    const bool answered = each->questions() && each->questions()->pupil() != model::Pupil{};
    if (away && !answered && each->last_deed().text.empty()) all.push_back(id);
  }
  return all;
}

bool Workshop::has_room_for(const Newcomer& who) const {
  const bool wants_bench = each_ && !choosing_ && who.role == Role::pupil;
  if (!wants_bench || own_.size() < most_own_benches || whose_key(who)) return true;
  return !untouched().empty();
}

ViewerId Workshop::join(RealTime real, const Newcomer& who) {
  now_ = std::max(now_, real);
  ++changes_;
  const auto known = whose_key(who);
  Newcomer newcomer = who;
  newcomer.id = known ? *known : next_id_++;
  const ViewerId id = *newcomer.id;
  Person& person = people_[id];
  if (person.looks_at != person.home) panel(person.looks_at).hand_over(id, real);
  if (!known && each_ && !choosing_ && who.role == Role::pupil) {
    if (own_.size() >= most_own_benches) {
      const BenchId given_up = untouched().front();
      everybody_home(real);
      own_.erase(given_up);
      people_.erase(given_up);
    }
    person.home = id;
    own_[id] = make(id);
  }
  person.looks_at = person.home;
  panel(person.home).join(real, newcomer);
  if (choosing_) {
    tell_shelf(id);
  } else if (person.home != class_bench) {
    tell_where(id);
  } else if (who.role == Role::onlooker && wall_ != class_bench) {
    visit(id, wall_, real);
  }
  tell_overview(real, true);
  return id;
}

void Workshop::leave(ViewerId id, RealTime real) {
  now_ = std::max(now_, real);
  const auto found = people_.find(id);
  if (found == people_.end()) return;
  Person& person = found->second;
  if (person.looks_at != person.home) panel(person.looks_at).hand_over(id, real);
  person.looks_at = person.home;
  panel(person.home).leave(id, real);
  ++changes_;
  forget_who_left();
  tell_overview(real, true);
}

/// A seat that was given up is nobody's.
void Workshop::forget_who_left() {
  std::erase_if(people_, [&](const auto& person) {
    return bench(person.second.home).room().find(person.first) == nullptr;
  });
}

// --- time ---

void Workshop::at_real(RealTime real) {
  now_ = std::max(now_, real);
  for (const BenchId id : benches()) {
    const auto due = bench(id).next_due();
    if (due && *due <= real) panel(id).at_real(real);
  }
  forget_who_left();
  tell_overview(real, false);
}

std::optional<RealTime> Workshop::next_due() const {
  std::optional<RealTime> due;
  for (const BenchId id : benches()) {
    if (const auto next = bench(id).next_due()) due = due ? std::min(*due, *next) : *next;
  }
  return due;
}

double Workshop::speed() const {
  double fastest = 0;
  for (const BenchId id : benches()) {
    const Bench& each = bench(id).bench();
    if (each.playing() || id == class_bench) fastest = std::max(fastest, each.speed());
  }
  return fastest;
}

// --- who sits where ---

void Workshop::move_home(ViewerId id, BenchId to, RealTime real) {
  Person& person = people_.at(id);
  if (person.home == to) return;
  Room::Viewer seat = panel(person.home).hand_over(id, real);
  person.home = person.looks_at = to;
  panel(to).take_in(std::move(seat), real);
  tell_where(id);
}

void Workshop::visit(ViewerId id, BenchId to, RealTime real) {
  Person& person = people_.at(id);
  if (person.looks_at == to) return;
  if (person.looks_at != person.home) panel(person.looks_at).hand_over(id, real);
  person.looks_at = to;
  if (to == person.home) {
    panel(to).greet(id, real);
  } else {
    panel(to).take_in(*viewer(id), real);
  }
  tell_where(id);
}

void Workshop::everybody_home(RealTime real) {
  for (auto& [id, person] : people_) visit(id, person.home, real);
  wall_ = class_bench;
}

void Workshop::put_on_wall(BenchId to, RealTime real) {
  wall_ = to;
  for (auto& [id, person] : people_) {
    const Room::Viewer* who = viewer(id);
    if (who != nullptr && who->role == Role::onlooker && !who->away_since) visit(id, to, real);
  }
}

/// Pupils go to benches of their own, or come back to the class's; what was begun at a bench stays there.
void Workshop::give_each(bool each, RealTime real) {
  if (!options_.led)
    throw Refused{RefusalCode::not_now, tr("There are no pupils here: start the panel with --listen.")};
  everybody_home(real);
  std::vector<ViewerId> pupils;
  for (const auto& [id, person] : people_) {
    const Room::Viewer* who = viewer(id);
    if (who != nullptr && who->role == Role::pupil) pupils.push_back(id);
  }
  if (each && pupils.size() > most_own_benches)
    throw Refused{RefusalCode::limit, tr("There are no more than {} benches.", most_own_benches)};
  each_ = each;
  for (const ViewerId id : pupils) {
    if (each && !own_.contains(id)) own_[id] = make(id);
    move_home(id, each ? id : class_bench, real);
  }
}

void Workshop::open(const Request& request, RealTime real) {
  request.allow({"offer", "each"});
  const std::size_t number =
      request.whole("offer", 1, static_cast<std::uint32_t>(options_.shelf.offers.size()));
  const Offer& offer = options_.shelf.offers[number - 1];
  const bool each = request.has("each") && request.truth("each");
  if (each && !options_.led)
    throw Refused{RefusalCode::not_now, tr("There are no pupils here: start the panel with --listen.")};
  if (!offer.trouble.empty()) throw Refused{RefusalCode::not_now, offer.trouble};
  try {
    task_ = options_.shelf.load(offer);
  } catch (const Unusable& why) {
    throw Refused{RefusalCode::not_now, why.what()};
  }
  everybody_home(real);
  past_ = results();
  std::vector<Room::Viewer> seats;
  for (const auto& [id, person] : people_) seats.push_back(*viewer(id));
  own_.clear();
  class_ = make(class_bench);
  choosing_ = false;
  each_ = each;
  opened_ = offer.path;
  ++openings_;
  people_.clear();
  for (Room::Viewer& seat : seats) {
    const ViewerId id = seat.id;
    const BenchId home = each && seat.role == Role::pupil ? id : class_bench;
    if (home != class_bench) own_[home] = make(home);
    people_[id] = {home, home};
    panel(home).take_in(std::move(seat), real);
    tell_where(id);
  }
}

void Workshop::show_shelf(bool shown, RealTime real) {
  if (options_.shelf.offers.empty())
    throw Refused{RefusalCode::not_now, tr("There is one scenario here, and no list.")};
  if (!shown && opened_.empty()) throw Refused{RefusalCode::not_now, tr("Nothing is open yet.")};
  choosing_ = shown;
  if (shown) {
    for (const auto& [id, person] : people_) tell_shelf(id);
    return;
  }
  if (each_) give_each(true, real);  // also those who have come in the meantime
  for (const auto& [id, person] : people_) {
    if (const Room::Viewer* who = viewer(id); who == nullptr || who->away_since) continue;
    panel(person.looks_at).greet(id, real);
    tell_where(id);
  }
}

// --- kept ---

KeptWorkshop Workshop::kept() const {
  return {opened_, each_, past_};
}

std::vector<Result> Workshop::results() const {
  std::vector<Result> all = past_;
  if (!task_.lesson) return all;
  std::vector<std::string> questions;
  for (const model::LessonQuestion& question : task_.lesson->lesson.questions)
    questions.push_back(question.ask);
  for (const BenchId id : benches()) {
    const auto& asked = bench(id).questions();
    if (!asked || asked->pupil() == model::Pupil{}) continue;
    const Room::Viewer* who = viewer(id);
    const std::string name = id == class_bench ? "the class" : who != nullptr ? who->name : "";
    all.push_back({id, name, task_.lesson->lesson.title, questions, asked->pupil()});
  }
  return all;
}

void Workshop::resume(const KeptWorkshop& kept, const std::optional<KeptBench>& of_class,
                      const std::map<BenchId, KeptBench>& own, RealTime real) {
  opened_ = kept.opened;
  each_ = kept.each && options_.led;
  past_ = kept.results;
  if (of_class) class_->resume(*of_class, real);
  for (const auto& [id, bench] : own) {
    own_[id] = make(id);
    own_[id]->resume(bench, real);
  }
  for (const BenchId id : benches()) {
    for (const Room::Viewer& each : bench(id).room().viewers()) {
      next_id_ = std::max(next_id_, each.id + 1);
      if (id == class_bench || each.id == id) people_[each.id] = {id, id};
    }
    next_id_ = std::max(next_id_, id + 1);
  }
}

}  // namespace drybus::tools
