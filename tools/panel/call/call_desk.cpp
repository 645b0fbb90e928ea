#include "tools/panel/call/call_desk.h"

#include <algorithm>
#include <stdexcept>

#include "model/call/words.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/trimmed.h"
#include "tools/base/unusable.h"
#include "tools/call/begun.h"
#include "tools/call/intake.h"
#include "tools/call/said.h"
#include "tools/call/written.h"
#include "tools/panel/call/call_message.h"
#include "tools/panel/call/site_json.h"
#include "tools/panel/gate.h"
#include "tools/script/told_words.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

namespace {

/// So many steps back are remembered as they were.
constexpr std::size_t most_before = 200;
constexpr std::uint32_t most_entries = 4000;
constexpr std::size_t most_title = 120;

[[noreturn]] void not_now(const std::string& why) {
  throw Refused{RefusalCode::not_now, why};
}

/// The first line of what is wrong with a file, or of any other reason.
std::string first_line(const std::string& text) {
  return text.substr(0, text.find('\n'));
}

}  // namespace

CallDesk::CallDesk(CallFile file, Log log) : file_(std::move(file)), log_(std::move(log)) {
  if (!file_.has_report()) {
    const IntakeTurn turn = intake_turn(file_.intake(), file_.path());
    if (!turn.refused.empty()) throw Unusable{tr("{}: its last line: {}", file_.path(), turn.refused)};
  }
  see_where_it_stands();
  if (may_think()) think();
}

void CallDesk::think() {
  task_ = CallTask{revision_, telling_, file_.report().call, file_.report().answers, words_};
}

void CallDesk::speak(const model::Words* words) {
  if (words == words_) return;
  words_ = words;
  const model::Speaking speaking{words_};
  // What was found out was told in other words.
  state_.reset();
  changed(false);
}

// --- coming, going, news ---

void CallDesk::send(std::optional<ViewerId> to, Letter::Kind kind, const json::object& message) {
  letters_.push_back({to, kind, std::make_shared<const std::string>(json_text(message))});
}

ViewerId CallDesk::join(const Newcomer& who) {
  const ViewerId id = next_id_++;
  roles_[id] = who.role;
  send(id, Letter::Kind::personal,
       {{"type", "hello"},
        {"you", {{"id", id}, {"key", random_token()}, {"writes", who.role != Role::onlooker}}}});
  send(id, Letter::Kind::personal, site_message());
  send(id, Letter::Kind::personal, call_message());
  return id;
}

json::object CallDesk::site_message() const {
  json::object message{{"type", "site"}};
  if (!file_.has_report()) {
    message["rooms"] = json::array{};
    return message;
  }
  const model::Report& call = file_.report().call;
  json::object site = call_site_json(call.believed.site, call.unread);
  message["rooms"] = std::move(site["rooms"]);
  return message;
}

json::object CallDesk::call_message() const {
  CallMessage parts{file_, revision_, state_ ? &*state_ : nullptr, failed_, {}, {}};
  parts.working = may_think() && state_revision_ != revision_ && failed_.empty();
  if (file_.has_report()) parts.told = told().entries();
  parts.can_go_back =
      file_.has_report() ? !file_.report().answers.empty() || !parts.told.empty() : !file_.intake().empty();
  return call_message_json(parts);
}

std::shared_ptr<const std::string> CallDesk::whole_state() const {
  return std::make_shared<const std::string>(json_text(call_message()));
}

/// A report is thought about as soon as something was seen; before that everything explains it.
bool CallDesk::may_think() const {
  return file_.has_report() && (!file_.report().call.seen.empty() || !file_.report().answers.empty());
}

void CallDesk::see_where_it_stands() {
  std::error_code nowhere_yet;
  written_ = std::filesystem::last_write_time(file_.path(), nowhere_yet);
}

/// `telling`: what was told is no longer the same, so that nothing that was found still holds.
void CallDesk::changed(bool telling) {
  ++revision_;
  if (telling) ++telling_;
  failed_.clear();
  see_where_it_stands();
  if (may_think()) {
    think();
  } else {
    state_.reset();
  }
  send(std::nullopt, Letter::Kind::news, call_message());
}

std::optional<CallTask> CallDesk::take_task() {
  return std::exchange(task_, std::nullopt);
}

void CallDesk::take(CallOutcome outcome) {
  if (outcome.revision != revision_) return;
  state_revision_ = revision_;
  state_ = std::move(outcome.state);
  failed_ = std::move(outcome.failed);
  if (!failed_.empty()) log_.warn("nothing was found out: {}", first_line(failed_));
  send(std::nullopt, Letter::Kind::news, call_message());
}

void CallDesk::look_at_the_file() {
  std::error_code gone;
  const auto written = std::filesystem::last_write_time(file_.path(), gone);
  if (gone || written == written_) return;
  written_ = written;
  try {
    if (!file_.refresh()) return;
    before_.clear();
    changed(true);
    send(std::nullopt, Letter::Kind::personal, site_message());
    log_.info("somebody else went on with {}", file_.path());
  } catch (const std::exception& error) {
    failed_ = first_line(error.what());
    send(std::nullopt, Letter::Kind::news, call_message());
  }
}

// --- what is said ---

bool CallDesk::receive(ViewerId id, std::string_view text) {
  json::value ref = nullptr;
  const auto refuse = [&](RefusalCode code, const std::string& why) {
    send(id, Letter::Kind::personal,
         {{"type", "refused"}, {"ref", ref}, {"code", to_string(code)}, {"why", why}});
    return code != RefusalCode::message;
  };
  try {
    const Request request{text};
    ref = request.ref();
    if (roles_.at(id) == Role::onlooker)
      throw Refused{RefusalCode::controls, tr("You look on; somebody else writes.")};
    if (file_.refresh()) {
      before_.clear();
      changed(true);
      send(std::nullopt, Letter::Kind::personal, site_message());
      not_now(tr("Somebody else went on with this call; here it is as it stands now."));
    }
    carry_out(request);
    send(id, Letter::Kind::personal, {{"type", "done"}, {"ref", ref}});
    return true;
  } catch (const Refused& refused) {
    return refuse(refused.code(), refused.what());
  } catch (const std::exception& error) {
    return refuse(RefusalCode::not_now, first_line(error.what()));
  }
}

void CallDesk::carry_out(const Request& request) {
  const std::string& verb = request.verb();
  if (verb == "say") return say(request);
  if (verb == "answer") return answer(request);
  if (verb == "take_out") return take_out(request);
  if (verb == "mark") return mark(request);
  if (verb == "rename") return rename(request);
  if (verb == "before") return set_before(request);
  if (verb == "back") {
    request.allow({});
    return go_back();
  }
  throw Refused{RefusalCode::message, tr("Nobody here knows what that asks for.")};
}

void CallDesk::say(const Request& request) {
  request.allow({"line", "before"});
  const std::string line = request.text("line");
  if (!file_.has_report()) return say_intake(line);
  std::optional<std::size_t> before;
  if (request.has("before")) before = request.whole("before", 0, most_entries);
  if (file_.report().answers.empty()) return say_told(line, before);
  if (const std::string wrong = file_.add_remark(line); !wrong.empty()) not_now(wrong);
  changed(false);
}

void CallDesk::say_intake(const std::string& line) {
  std::vector<std::string> lines = file_.intake();
  lines.push_back(line);
  const IntakeTurn turn = intake_turn(lines, file_.path());
  if (!turn.refused.empty()) not_now(turn.refused);
  const std::string& report = turn.prompt.empty() ? turn.report : turn.so_far;
  if (report.empty()) {
    file_.set_intake(std::move(lines));
    return changed(true);
  }
  // Rooms, plates and modules are known: the rest is written freely.
  file_.set_report(report);
  changed(true);
  send(std::nullopt, Letter::Kind::personal, site_message());
}

/// Takes a text of the report, or refuses it.
void CallDesk::put(const std::string& text) {
  std::string before = file_.text();
  if (const std::string wrong = file_.try_report(text); !wrong.empty()) not_now(wrong);
  before_.push_back(std::move(before));
  if (before_.size() > most_before) before_.erase(before_.begin());
  changed(true);
}

void CallDesk::say_told(const std::string& line, std::optional<std::size_t> before) {
  const auto text = told().with(line, before);
  if (!text) not_now(in_a_sentence(text.error()));
  put(*text);
}

std::size_t CallDesk::entry_of(const Request& request) const {
  if (!file_.has_report() || !file_.report().answers.empty())
    not_now(tr("What was told stands as long as there are answers; go back before them first."));
  if (request.whole("revision", 0, 0xffff'ffff) != revision_) not_now(tr("The call has changed meanwhile."));
  const std::size_t entry = request.whole("entry", 0, most_entries);
  if (entry >= told().entries().size()) throw Refused{RefusalCode::unknown, tr("There is no such entry.")};
  return entry;
}

void CallDesk::take_out(const Request& request) {
  request.allow({"entry", "revision"});
  const std::size_t entry = entry_of(request);
  const auto text = told().without(entry);
  if (!text) not_now(in_a_sentence(text.error()));
  put(*text);
}

void CallDesk::mark(const Request& request) {
  request.allow({"entry", "revision", "unsure"});
  const std::size_t entry = entry_of(request);
  const auto text = told().marked(entry, request.truth("unsure"));
  if (!text) not_now(in_a_sentence(text.error()));
  put(*text);
}

void CallDesk::rename(const Request& request) {
  request.allow({"title"});
  const std::string title = request.text("title", most_title);
  if (!file_.has_report()) not_now(tr("The call has no title yet: it is asked for."));
  const auto text = with_title(file_.text(), title);
  if (!text) not_now(tr("The title is written in a way that only its author can change."));
  put(*text);
}

/// Whether everybody had their address before all this. Written anew with its site, as long as nothing is told.
void CallDesk::set_before(const Request& request) {
  request.allow({"addressed"});
  const Before before = request.truth("addressed") ? Before::addressed : Before::fresh;
  if (!file_.has_report() || !file_.report().answers.empty() || !told().entries().empty())
    not_now(tr("That is settled before anything is told; go back first."));
  put(begun_with(file_.report().told, before, file_.path()));
  send(std::nullopt, Letter::Kind::personal, site_message());
}

void CallDesk::go_back() {
  if (!file_.has_report()) {
    std::vector<std::string> lines = file_.intake();
    if (lines.empty()) not_now(tr("There is nothing to go back to."));
    lines.pop_back();
    file_.set_intake(std::move(lines));
    return changed(true);
  }
  if (file_.take_back()) return changed(false);
  if (!before_.empty()) {
    const std::string text = before_.back();
    before_.pop_back();
    if (const std::string wrong = file_.try_report(text); !wrong.empty()) not_now(wrong);
    return changed(true);
  }
  const ToldText all = told();
  if (all.entries().empty()) not_now(tr("There is nothing to go back to."));
  const auto text = all.without(all.entries().size() - 1);
  if (!text) not_now(in_a_sentence(text.error()));
  if (const std::string wrong = file_.try_report(*text); !wrong.empty()) not_now(wrong);
  changed(true);
}

// --- answers ---

void CallDesk::answer(const Request& request) {
  request.allow({"revision", "answer", "offer", "saw", "switches"});
  const bool current = state_ && state_revision_ == revision_;
  if (!current || request.whole("revision", 0, 0xffff'ffff) != revision_)
    not_now(tr("That was asked before the last thing was said; wait for what is asked now."));
  const auto choices = choices_of(*state_);
  if (choices.empty()) not_now(tr("Nothing is asked."));
  const std::string_view word = chosen(choices, request.text("answer", 40));
  if (word.empty() || word == "quit" || word == "back")
    throw Refused{RefusalCode::unknown, tr("That is none of the answers: {}", offered(choices))};
  file_.add(reply_to(*state_, word, sighting_of(request, word)));
  changed(false);
}

Sighting CallDesk::sighting_of(const Request& request, std::string_view word) const {
  const model::Site& site = file_.report().call.believed.site;
  switch (lacking(*state_, word)) {
    case Lacking::nothing:
      return {};
    case Lacking::switches: {
      const model::DeviceId plate = state_->question->numbers->plate;
      const auto numbers = parse_switches(&site.family_of(plate), trimmed(request.text("switches", 20)));
      if (!numbers) not_now(in_a_sentence(numbers.error()));
      return {{}, {{plate, (*numbers).first, (*numbers).second, {}}}};
    }
    case Lacking::sight:
      break;
  }
  if (request.has("offer")) {
    const std::vector<model::Seen> offers = seen_instead(site, *state_);
    const std::size_t which = request.whole("offer", 0, 1000);
    if (which >= offers.size()) throw Refused{RefusalCode::unknown, tr("There is no such offer.")};
    return {{offers[which]}, {}};
  }
  const std::optional<model::Seen> asked = asked_for(*state_);
  const auto said = parse_said(site, request.text("saw"), asked ? &*asked : nullptr);
  if (!said) not_now(in_a_sentence(said.error()));
  return {{*said}, {}};
}

}  // namespace drybus::tools
