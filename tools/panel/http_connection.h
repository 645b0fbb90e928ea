// One connection of a browser, until it goes away or becomes a viewer's line.
#pragma once

#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <memory>
#include <optional>
#include <string>

#include "tools/panel/bounds.h"
#include "tools/panel/gate.h"
#include "tools/panel/reception.h"

namespace drybus::tools {

using HttpRequest = boost::beast::http::request<boost::beast::http::string_body>;
using HttpResponse = boost::beast::http::response<boost::beast::http::span_body<const char>>;

class HttpConnection : public std::enable_shared_from_this<HttpConnection> {
 public:
  /// `seat` is held for as long as the connection lives, also as a line. The others must outlive it.
  HttpConnection(boost::asio::ip::tcp::socket socket, const Gate& gate, const Bounds& bounds,
                 Reception& reception, std::shared_ptr<void> seat);

  void read();

 private:
  void on_read(const boost::system::error_code& error);
  void answer(const HttpRequest& request);
  void become_line(const HttpRequest& request);
  void send(const std::shared_ptr<HttpResponse>& response);

  boost::beast::tcp_stream stream_;
  const Gate& gate_;
  const Bounds& bounds_;
  Reception& reception_;
  std::shared_ptr<void> seat_;
  std::string local_;  ///< the address that the connection came in on
  boost::beast::flat_buffer buffer_;
  std::optional<boost::beast::http::request_parser<boost::beast::http::string_body>> parser_;
};

/// What is answered to a request that asks for no WebSocket, or may not have one. `local` as in Gate.
HttpResponse answer_to(const HttpRequest& request, const Gate& gate, std::string_view local);

/// Whether the request asks for the panel's WebSocket and may have it.
bool may_open_line(const HttpRequest& request, const Gate& gate, std::string_view local);

}  // namespace drybus::tools
