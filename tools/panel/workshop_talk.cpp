// What people in the workshop say to it, and what it tells them: PROTOCOL.md, "Many benches".
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/panel/exact_seconds.h"
#include "tools/panel/request.h"
#include "tools/panel/take_message.h"
#include "tools/panel/workshop.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

namespace {

constexpr RealTime overview_every = std::chrono::seconds{1};
constexpr std::array leaders_verbs = {"open", "shelf", "each", "look_at", "wall", "results"};

bool is_leaders_verb(const std::string& verb) {
  return std::find(leaders_verbs.begin(), leaders_verbs.end(), verb) != leaders_verbs.end();
}

double seconds_of(RealTime time) {
  return std::chrono::duration<double>(std::max(time, RealTime::zero())).count();
}

}  // namespace

// --- what they say ---

bool Workshop::receive(ViewerId id, std::string_view text, RealTime real) {
  now_ = std::max(now_, real);
  forget_who_left();
  const auto person = people_.find(id);
  if (person == people_.end()) return false;
  Answer answer;
  try {
    const Request request{text};
    const bool ours = is_leaders_verb(request.verb()) || choosing_;
    if (!ours) {
      const bool understood = panel(person->second.looks_at).receive(id, text, real);
      if (request.verb() == "name" && person->second.looks_at == person->second.home) ++changes_;
      if (request.verb() == "lesson" || request.verb() == "name") tell_overview(real, true);
      return understood;
    }
    answer.ref = request.ref();
    answer.reply = carry_out(id, request, real);
    ++changes_;
    tell_overview(real, true);
  } catch (const Refused& refused) {
    answer.refused = refused;
    options_.log.info("viewer {} is refused ({}): {}", id, to_string(refused.code()), refused.what());
  } catch (const std::exception& error) {
    // A fault of ours; the class goes on, and the trainer reads what it was.
    options_.log.error("a fault of drybus, after viewer {} said {}: {}", id, text, error.what());
    answer.refused = Refused{RefusalCode::not_now, error.what()};
  }
  if (const auto message = answer_json(answer)) tell(id, *message);
  return !answer.refused || answer.refused->code() != RefusalCode::message;
}

std::optional<json::object> Workshop::carry_out(ViewerId id, const Request& request, RealTime real) {
  const std::string& verb = request.verb();
  if (verb == "name" && choosing_) {
    (void)class_->receive(id, json_text(json::object{{"do", "name"}, {"name", request.text("name", 40)}}),
                          real);
    for (const auto& [each, person] : people_) tell_shelf(each);
    return std::nullopt;
  }
  if (!is_leaders_verb(verb)) throw Refused{RefusalCode::not_now, tr("Nothing is open yet.")};
  if (!leads(id))
    throw Refused{RefusalCode::controls,
                  options_.led ? tr("That is the trainer's.") : class_->room().why_no_hands(id)};
  if (verb == "open") {
    open(request, real);
  } else if (verb == "shelf") {
    request.allow({"shown"});
    show_shelf(!request.has("shown") || request.truth("shown"), real);
  } else if (verb == "each") {
    request.allow({"on"});
    give_each(request.truth("on"), real);
  } else if (verb == "look_at") {
    request.allow({"bench"});
    visit(id, bench_asked_for(request), real);
  } else if (verb == "wall") {
    request.allow({"bench"});
    put_on_wall(bench_asked_for(request), real);
  } else {
    request.allow({"names"});
    const bool names = request.has("names") && request.truth("names");
    return json::object{{"type", "results"}, {"text", results_csv(results(), names)}};
  }
  return std::nullopt;
}

BenchId Workshop::bench_asked_for(const Request& request) const {
  if (choosing_) throw Refused{RefusalCode::not_now, tr("Nothing is open yet.")};
  const BenchId bench = request.whole("bench", 0, 0xffff'ffff);
  if (bench != class_bench && !own_.contains(bench))
    throw Refused{RefusalCode::unknown, tr("There is no bench {}.", bench)};
  return bench;
}

// --- what they are told ---

void Workshop::tell(ViewerId id, const json::object& message) {
  letters_.push_back({id, Letter::Kind::personal, std::make_shared<const std::string>(json_text(message))});
}

void Workshop::tell_trainers(const std::string& text) {
  for (const auto& [id, person] : people_) {
    if (leads(id) && !viewer(id)->away_since) tell(id, {{"type", "notice"}, {"text", text}});
  }
}

/// Whose bench they look at.
void Workshop::tell_where(ViewerId id) {
  const Person& person = people_.at(id);
  const Room::Viewer* owner = person.looks_at == class_bench ? nullptr : viewer(person.looks_at);
  tell(id, {{"type", "where"},
            {"bench", person.looks_at},
            {"name", owner != nullptr ? json::value(owner->name) : json::value(nullptr)},
            {"home", person.looks_at == person.home}});
}

void Workshop::tell_shelf(ViewerId id) {
  const Room::Viewer* who = viewer(id);
  if (who == nullptr || who->away_since) return;
  json::array offers;
  if (leads(id)) {
    for (const Offer& offer : options_.shelf.offers) {
      offers.push_back(
          {{"title", offer.title},
           {"about", offer.about},
           {"file", offer.path},
           {"questions", offer.questions},
           {"devices", offer.devices},
           {"trouble", offer.trouble.empty() ? json::value(nullptr) : json::value(offer.trouble)}});
    }
  }
  tell(id, {{"type", "shelf"},
            {"name", options_.shelf.name},
            {"led", options_.led},
            {"you", {{"id", id}, {"name", who->name}, {"key", who->key}, {"role", to_string(who->role)}}},
            {"you_lead", leads(id)},
            {"people", class_->room().to_json(id, now_).at("list")},
            {"offers", std::move(offers)}});
}

json::object Workshop::bench_json(BenchId id) const {
  const Panel& each = bench(id);
  const Room::Viewer* who = viewer(id);
  const Deed& deed = each.last_deed();
  json::object told{{"bench", id},
                    {"name", id == class_bench ? "the class"
                             : who != nullptr  ? who->name
                                               : fmt::format("pupil {}", id)},
                    {"away", id != class_bench && !each.room().is_there(id)},
                    {"deed", deed.text},
                    {"stuck", id != class_bench && now_ - deed.at >= stuck_after},
                    {"playing", each.bench().playing()},
                    {"branches", each.bench().courses().size()},
                    {"question", nullptr}};
  if (!each.questions()) return told;
  const model::Pupil& pupil = each.questions()->pupil();
  const bool over = each.questions()->over();
  told["question"] = pupil.question() + 1;
  told["of"] = each.questions()->loaded().lesson.questions.size();
  told["right"] = count_right(pupil);
  told["tries"] = pupil.now.tries;
  told["hints"] = pupil.now.hints;
  told["over"] = over;
  if (over) told["stuck"] = false;
  return told;
}

json::object Workshop::overview_json() const {
  json::array all;
  for (const BenchId id : benches()) all.push_back(bench_json(id));
  return {{"type", "class"},
          {"each", each_},
          {"wall", wall_},
          {"led", options_.led},
          {"shelf", !options_.shelf.offers.empty()},
          {"lesson", task_.lesson != nullptr},
          {"benches", std::move(all)}};
}

/// To all who lead, when something is different: at once, or once a second.
void Workshop::tell_overview(RealTime real, bool at_once) {
  if (choosing_) {
    if (at_once) {
      for (const auto& [id, person] : people_) tell_shelf(id);
    }
    return;
  }
  if (!options_.led && options_.shelf.offers.empty()) return;
  if (!at_once && real - overview_at_ < overview_every) return;
  overview_at_ = real;
  json::object told = overview_json();
  std::string compared = json_text(told);
  for (const BenchId id : benches()) compared += fmt::format(" {}", bench(id).last_deed().at.count());
  for (const auto& [id, person] : people_) {
    if (leads(id) && !viewer(id)->away_since) compared += fmt::format(" {}", id);
  }
  if (compared == overview_told_) return;
  overview_told_ = std::move(compared);
  for (json::value& each : told["benches"].as_array()) {
    const auto id = each.at("bench").to_number<BenchId>();
    each.as_object()["deed_ago_s"] = seconds_of(now_ - bench(id).last_deed().at);
  }
  for (const auto& [id, person] : people_) {
    if (leads(id) && !viewer(id)->away_since) tell(id, told);
  }
}

std::shared_ptr<const std::string> Workshop::whole_state(ViewerId id, RealTime real) const {
  const auto person = people_.find(id);
  return bench(person == people_.end() ? class_bench : person->second.looks_at).whole_state(id, real);
}

/// What a bench tells reaches who looks at it.
std::vector<Letter> Workshop::take_letters() {
  std::vector<Letter> all;
  for (const BenchId bench : benches()) {
    for (Letter& letter : panel(bench).take_letters()) {
      if (choosing_) continue;
      const auto looks = [&](ViewerId id) {
        const auto person = people_.find(id);
        return person != people_.end() && person->second.looks_at == bench;
      };
      if (letter.to) {
        if (looks(*letter.to)) all.push_back(std::move(letter));
        continue;
      }
      for (const Room::Viewer& each : this->bench(bench).room().viewers()) {
        if (looks(each.id)) all.push_back({each.id, letter.kind, letter.text});
      }
    }
  }
  for (Letter& letter : std::exchange(letters_, {})) all.push_back(std::move(letter));
  return all;
}

}  // namespace drybus::tools
