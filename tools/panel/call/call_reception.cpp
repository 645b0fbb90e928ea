#include "tools/panel/call/call_reception.h"

#include <boost/asio/post.hpp>
#include <utility>

#include "tools/panel/call/page_files.h"

namespace drybus::tools {

namespace {

/// Lines are looked after so often, and so is the file.
constexpr auto round_every = std::chrono::seconds{1};

}  // namespace

CallReception::CallReception(boost::asio::io_context& io, CallFile file, model::Catalogue catalogue,
                             const Bounds& bounds, Log log, std::string_view language)
    : desk_(std::move(file), std::move(log)),
      most_viewers_(bounds.most_viewers),
      alarm_(io),
      thinker_(std::move(catalogue), [this, &io](CallOutcome outcome) {
        boost::asio::post(io, [this, found = std::move(outcome)]() mutable {
          const model::Speaking speaking{words_};
          desk_.take(std::move(found));
          deliver();
        });
      }) {
  if (!language.empty()) speak(language);
  deliver();
  set_alarm();
}

RealTime CallReception::now() const {
  return std::chrono::steady_clock::now() - begun_;
}

void CallReception::speak(std::string_view language) {
  words_ = words_of(language);
  words_file_.content = words_for_page(language);
  desk_.speak(words_);
}

const PageFile* CallReception::page_file(std::string_view path, [[maybe_unused]] std::string_view accepted) {
  if (path != "/words.json") return call_page_file_at(path);
  // What the page's own scripts say is in no catalogue yet: a browser alone does not choose another language than theirs.
  return &words_file_;
}

ViewerId CallReception::welcome(std::shared_ptr<ViewerLine> line, const Newcomer& who) {
  const model::Speaking speaking{words_};
  const ViewerId id = desk_.join(who);
  lines_[id] = std::move(line);
  deliver();
  return id;
}

void CallReception::goodbye(ViewerId id, const ViewerLine* line) {
  const auto found = lines_.find(id);
  if (found == lines_.end() || found->second.get() != line) return;
  lines_.erase(found);
  desk_.leave(id);
}

bool CallReception::receive(ViewerId id, std::string_view text) {
  const model::Speaking speaking{words_};
  const bool understood = desk_.receive(id, text);
  deliver();
  return understood;
}

std::shared_ptr<const std::string> CallReception::whole_state(ViewerId) const {
  const model::Speaking speaking{words_};
  return desk_.whole_state();
}

void CallReception::deliver() {
  if (auto task = desk_.take_task()) thinker_.think(std::move(*task));
  for (const Letter& letter : desk_.take_letters()) {
    if (!letter.to) {
      for (const auto& [id, line] : lines_) line->send(letter);
    } else if (const auto line = lines_.find(*letter.to); line != lines_.end()) {
      line->second->send(letter);
    }
  }
}

void CallReception::set_alarm() {
  if (closed_) return;
  alarm_.expires_after(round_every);
  alarm_.async_wait([this](const boost::system::error_code& error) {
    if (error) return;
    const auto lines = lines_;  // one that closes itself leaves the table
    for (const auto& [id, line] : lines) line->look_after(now());
    const model::Speaking speaking{words_};
    desk_.look_at_the_file();
    deliver();
    set_alarm();
  });
}

void CallReception::close() {
  closed_ = true;
  alarm_.cancel();
  const auto lines = lines_;
  for (const auto& [id, line] : lines) line->close();
}

}  // namespace drybus::tools
