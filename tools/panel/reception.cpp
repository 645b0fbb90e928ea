#include "tools/panel/reception.h"

#include <algorithm>
#include <utility>

namespace drybus::tools {

namespace {

/// The page draws sixty pictures a second: more news than that nobody sees. Near real time a press shall not
/// wait.
constexpr RealTime turn_at_speed = std::chrono::milliseconds{16};
constexpr RealTime turn_near_real_time = std::chrono::milliseconds{2};
constexpr double near_real_time = 4.0;

/// Lines are looked after so often, whatever else happens.
constexpr RealTime round_every = std::chrono::seconds{1};

}  // namespace

Reception::Reception(boost::asio::io_context& io, Task task, const ServerOptions& options)
    : workshop_(std::move(task), {.led = !options.trainer_key.empty(),
                                  .each = options.each,
                                  .shelf = options.shelf,
                                  .choosing = options.choosing,
                                  .log = options.log}),
      keeper_(options.keep, {options.token, options.trainer_key, options.onlooker_token}, options.log),
      most_viewers_(options.bounds.most_viewers),
      alarm_(io) {
  if (options.kept || options.kept_class) {
    const KeptClass none;
    const KeptClass& kept = options.kept_class ? *options.kept_class : none;
    workshop_.resume(kept.workshop, options.kept, kept.own, now());
  }
  if (!options.language.empty()) speak(options.language);
  set_alarm();
}

void Reception::speak(std::string_view language) {
  language_ = language;
  words_ = words_of(language);
  words_file_.content = words_for_page(language);
}

const PageFile* Reception::page_file(std::string_view path, std::string_view accepted) {
  if (path != "/words.json") return page_file_at(path);
  if (language_.empty()) speak(best_language(accepted));
  return &words_file_;
}

RealTime Reception::now() const {
  return std::chrono::steady_clock::now() - begun_;
}

ViewerId Reception::welcome(std::shared_ptr<ViewerLine> line, const Newcomer& who) {
  const model::Speaking speaking{words_};
  const ViewerId id = workshop_.join(now(), who);
  // Who comes back before we have seen them go: their old line leads nowhere.
  const auto before = std::exchange(lines_[id], std::move(line));
  if (before) before->close();
  deliver();
  return id;
}

void Reception::goodbye(ViewerId id, const ViewerLine* line) {
  const auto found = lines_.find(id);
  if (found == lines_.end() || found->second.get() != line) return;
  const model::Speaking speaking{words_};
  lines_.erase(found);
  workshop_.leave(id, now());
  deliver();
}

bool Reception::receive(ViewerId id, std::string_view text) {
  const model::Speaking speaking{words_};
  const bool understood = workshop_.receive(id, text, now());
  deliver();
  return understood;
}

void Reception::deliver() {
  for (const Letter& letter : workshop_.take_letters()) {
    if (!letter.to) {
      for (const auto& [id, line] : lines_) line->send(letter);
    } else if (const auto line = lines_.find(*letter.to); line != lines_.end()) {
      line->second->send(letter);
    }
  }
  set_alarm();
}

RealTime Reception::shortest_turn() const {
  return workshop_.speed() <= near_real_time ? turn_near_real_time : turn_at_speed;
}

void Reception::set_alarm() {
  if (closed_) return;
  const RealTime real = now();
  RealTime due = real + round_every;
  if (const auto next = workshop_.next_due())
    due = std::min(due, std::max(*next, last_turn_ + shortest_turn()));
  alarm_.expires_at(begun_ + std::chrono::duration_cast<std::chrono::steady_clock::duration>(due));
  alarm_.async_wait([this](const boost::system::error_code& error) {
    if (!error) wake();
  });
}

void Reception::wake() {
  last_turn_ = now();
  {
    const model::Speaking speaking{words_};
    workshop_.at_real(last_turn_);
  }
  const auto lines = lines_;  // one that closes itself leaves the table
  for (const auto& [id, line] : lines) line->look_after(last_turn_);
  keeper_.look(workshop_, last_turn_);
  deliver();
}

void Reception::close() {
  closed_ = true;
  keeper_.write_last(workshop_);
  alarm_.cancel();
  const auto lines = lines_;
  for (const auto& [id, line] : lines) line->close();
}

}  // namespace drybus::tools
