#include "tools/panel/line.h"

#include <boost/asio/post.hpp>
#include <boost/json.hpp>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/panel/request.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace beast = boost::beast;
namespace http = boost::beast::http;
namespace websocket = boost::beast::websocket;

namespace {

std::string too_much_work() {
  return json_text(boost::json::value{{"type", "refused"},
                                      {"ref", nullptr},
                                      {"code", "limit"},
                                      {"why", tr("That is too much work at once; wait a moment.")}});
}

}  // namespace

Line::Line(beast::tcp_stream stream, const Bounds& bounds, FrontDesk& reception, Caller caller, Log log,
           std::shared_ptr<void> seat)
    : socket_(std::move(stream)),
      bounds_(bounds),
      reception_(reception),
      caller_(std::move(caller)),
      log_(std::move(log)),
      seat_(std::move(seat)),
      messages_(bounds.messages_at_once, bounds.messages_per_second),
      work_(bounds.work_at_once, bounds.work_per_second) {}

void Line::open(const http::request<http::empty_body>& request) {
  beast::get_lowest_layer(socket_).expires_never();
  websocket::stream_base::timeout timeouts{};
  timeouts.handshake_timeout = bounds_.time_to_go;  // also for a farewell
  timeouts.idle_timeout = bounds_.longest_silence;
  timeouts.keep_alive_pings = true;
  socket_.set_option(timeouts);
  socket_.read_message_max(most_message_bytes);
  socket_.auto_fragment(false);
  socket_.next_layer().watch([this](std::span<const unsigned char> bytes) { on_bytes(bytes); });
  socket_.async_accept(
      request, [self = shared_from_this()](const boost::system::error_code& error) { self->on_open(error); });
}

void Line::on_open(const boost::system::error_code& error) {
  if (error) return;
  boost::system::error_code ignored;
  beast::get_lowest_layer(socket_).socket().set_option(boost::asio::ip::tcp::no_delay{true}, ignored);
  socket_.text(true);
  const Newcomer who{caller_.key, caller_.role};
  if (!reception_.has_room_for(who))
    return end(Code::try_again_later, msg("There are too many viewers.").data());
  viewer_ = reception_.welcome(shared_from_this(), who);
  log_.info("{} is viewer {}", caller_.address, *viewer_);
  read();
}

// --- in ---

void Line::read() {
  socket_.async_read(incoming_, [self = shared_from_this()](const boost::system::error_code& error,
                                                            std::size_t) { self->on_read(error); });
}

/// Every frame counts, also those of which no message will tell.
void Line::on_bytes(std::span<const unsigned char> bytes) {
  const RealTime now = reception_.now();
  const FrameWatch::Passed passed = frames_.take(bytes);
  if (!frames_.unfinished() || passed.messages_ended > 0) unfinished_since_.reset();
  if (frames_.unfinished() && !unfinished_since_) unfinished_since_ = now;
  if (flooded_ || messages_.take(static_cast<double>(passed.frames_begun), now)) return;
  flooded_ = true;
  // Later, for the socket is in the middle of reading.
  boost::asio::post(socket_.get_executor(), [self = shared_from_this()] {
    self->end(Code::policy_error, msg("Too many messages.").data());
  });
}

void Line::on_read(const boost::system::error_code& error) {
  if (error) return give_up();
  if (ended_) return;
  if (!socket_.got_text()) return end(Code::unknown_data, msg("Text only, please.").data());
  if (flooded_) return end(Code::policy_error, msg("Too many messages.").data());
  if (!take_message()) return end(Code::policy_error, msg("Too much that nobody understands.").data());
  if (!ended_) read();
}

/// False when there was too much nonsense.
bool Line::take_message() {
  const auto bytes = incoming_.data();
  const std::string_view text{static_cast<const char*>(bytes.data()), bytes.size()};
  const RealTime begun = reception_.now();
  if (!work_.any_left(begun)) {
    send({viewer_, Letter::Kind::personal, std::make_shared<const std::string>(too_much_work())});
  } else {
    if (!reception_.receive(*viewer_, text)) ++not_understood_;
    work_.spend(std::chrono::duration<double>(reception_.now() - begun).count());
  }
  incoming_.consume(incoming_.size());
  return not_understood_ <= bounds_.most_not_understood;
}

// --- out ---

void Line::send(const Letter& letter) {
  if (ended_ || (has_missed_news_ && letter.kind == Letter::Kind::news)) return;
  if (outgoing_bytes_ + letter.text->size() > bounds_.most_waiting_bytes) {
    drop_news();
    if (letter.kind == Letter::Kind::news) return;
    if (outgoing_bytes_ > bounds_.most_waiting_bytes)
      return end(Code::policy_error, msg("You read too slowly.").data());
  }
  outgoing_.push_back(letter);
  outgoing_bytes_ += letter.text->size();
  if (!writing_) write();
}

/// A whole state will make up for it, when the reader has caught up.
void Line::drop_news() {
  has_missed_news_ = true;
  for (auto letter = outgoing_.begin() + (writing_ && !outgoing_.empty() ? 1 : 0);
       letter != outgoing_.end();) {
    if (letter->kind == Letter::Kind::news) {
      outgoing_bytes_ -= letter->text->size();
      letter = outgoing_.erase(letter);
    } else {
      ++letter;
    }
  }
}

void Line::write() {
  writing_ = true;
  writing_since_ = reception_.now();
  const std::string& text = *outgoing_.front().text;
  socket_.async_write(boost::asio::buffer(text),
                      [self = shared_from_this()](const boost::system::error_code& error, std::size_t) {
                        self->on_write(error);
                      });
}

void Line::on_write(const boost::system::error_code& error) {
  writing_ = false;
  if (error) return give_up();
  outgoing_bytes_ -= outgoing_.front().text->size();
  outgoing_.pop_front();
  if (ended_ || !viewer_) return;
  if (outgoing_.empty() && has_missed_news_) {
    has_missed_news_ = false;
    send({viewer_, Letter::Kind::personal, reception_.whole_state(*viewer_)});
    return;
  }
  if (!outgoing_.empty()) write();
}

// --- the end ---

void Line::look_after(RealTime real) {
  if (writing_ && real - writing_since_ > bounds_.longest_write) return give_up();
  if (unfinished_since_ && real - *unfinished_since_ > bounds_.time_for_a_message) {
    end(Code::policy_error, msg("That message never ends.").data());
  }
}

void Line::close() {
  end(Code::going_away, msg("The panel was closed.").data());
}

void Line::end(Code code, const char* why) {
  if (ended_) return;
  ended_ = true;
  log_.info("{} is shown out: {}", caller_.address, why);
  say_goodbye();
  // Whoever has stood still for a while would not take a farewell either.
  if (writing_ && reception_.now() - writing_since_ > std::chrono::seconds{1}) return give_up();
  socket_.async_close({code, std::string{in_words_spoken(why)}},
                      [self = shared_from_this()](const boost::system::error_code&) { self->give_up(); });
}

void Line::give_up() {
  ended_ = true;
  beast::get_lowest_layer(socket_).close();
  say_goodbye();
}

/// Later, for the reception may be in the middle of sending to all.
void Line::say_goodbye() {
  if (!viewer_) return;
  log_.info("viewer {} is gone ({})", *viewer_, caller_.address);
  boost::asio::post(socket_.get_executor(), [self = shared_from_this(), viewer = *viewer_] {
    self->reception_.goodbye(viewer, self.get());
  });
  viewer_.reset();
}

}  // namespace drybus::tools
