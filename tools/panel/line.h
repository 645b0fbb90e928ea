// One viewer's WebSocket.
#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/websocket.hpp>
#include <deque>
#include <memory>
#include <optional>

#include "tools/log/log.h"
#include "tools/panel/allowance.h"
#include "tools/panel/bounds.h"
#include "tools/panel/frame_watch.h"
#include "tools/panel/front_desk.h"
#include "tools/panel/watched_stream.h"

namespace drybus::tools {

class Line final : public ViewerLine, public std::enable_shared_from_this<Line> {
 public:
  struct Caller {
    std::string address;  ///< for the log
    std::string key;      ///< to the seat that they had, if any
    Role role = Role::trainer;
  };

  /// `seat` is held for as long as the line lives.
  Line(boost::beast::tcp_stream stream, const Bounds& bounds, FrontDesk& reception, Caller caller, Log log,
       std::shared_ptr<void> seat);

  /// Answers the request that asked for a WebSocket, and goes on from there.
  void open(const boost::beast::http::request<boost::beast::http::empty_body>& request);

  void send(const Letter& letter) override;
  void look_after(RealTime real) override;
  void close() override;

 private:
  using Code = boost::beast::websocket::close_code;

  void on_open(const boost::system::error_code& error);
  void read();
  void on_read(const boost::system::error_code& error);
  void on_bytes(std::span<const unsigned char> bytes);
  [[nodiscard]] bool take_message();
  void write();
  void on_write(const boost::system::error_code& error);
  void drop_news();
  void end(Code code, const char* why);
  void give_up();
  void say_goodbye();

  boost::beast::websocket::stream<WatchedStream> socket_;
  const Bounds& bounds_;
  FrontDesk& reception_;
  Caller caller_;
  Log log_;
  std::shared_ptr<void> seat_;
  boost::beast::flat_buffer incoming_;
  std::deque<Letter> outgoing_;
  std::size_t outgoing_bytes_ = 0;
  bool writing_ = false;
  RealTime writing_since_{};
  bool has_missed_news_ = false;
  bool ended_ = false;
  std::optional<ViewerId> viewer_;
  FrameWatch frames_;
  std::optional<RealTime> unfinished_since_;  ///< a message that has begun
  bool flooded_ = false;
  Allowance messages_;
  Allowance work_;
  unsigned not_understood_ = 0;
};

}  // namespace drybus::tools
