// One connection of a browser, until it goes away or becomes a viewer's line.
#pragma once

#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "tools/log/log.h"
#include "tools/panel/allowance.h"
#include "tools/panel/bounds.h"
#include "tools/panel/front_desk.h"
#include "tools/panel/gate.h"

namespace drybus::tools {

using HttpRequest = boost::beast::http::request<boost::beast::http::empty_body>;
using HttpResponse = boost::beast::http::response<boost::beast::http::span_body<const char>>;

class HttpConnection : public std::enable_shared_from_this<HttpConnection> {
 public:
  /// `seat` is held for as long as the connection lives, also as a line. The others must outlive it.
  HttpConnection(boost::asio::ip::tcp::socket socket, const Gate& gate, const Bounds& bounds,
                 FrontDesk& reception, Log log, std::shared_ptr<void> seat);
  ~HttpConnection();
  HttpConnection(const HttpConnection&) = delete;
  HttpConnection& operator=(const HttpConnection&) = delete;

  void read();

 private:
  void on_read(const boost::system::error_code& error);
  void answer(const HttpRequest& request);
  void become_line(const HttpRequest& request);
  void refuse(boost::beast::http::status status, std::string_view why);
  void send(const std::shared_ptr<HttpResponse>& response);
  void say_no_more();
  void pass_over();

  boost::beast::tcp_stream stream_;
  const Gate& gate_;
  const Bounds& bounds_;
  FrontDesk& reception_;
  Log log_;
  std::shared_ptr<void> seat_;
  std::string local_;  ///< the address that the connection came in on
  std::string peer_;   ///< who is at the other end, for the log
  bool is_line_ = false;
  Allowance requests_;
  std::size_t passed_over_ = 0;
  boost::beast::flat_buffer buffer_;
  std::optional<boost::beast::http::request_parser<boost::beast::http::empty_body>> parser_;
};

/// The file of a page at a path; null: there is none.
using FindPageFile = std::function<const PageFile*(std::string_view)>;

/// What is answered to a request that asks for no WebSocket, or may not have one. `local` as in Gate.
HttpResponse answer_to(const HttpRequest& request, const Gate& gate, std::string_view local,
                       const FindPageFile& find = page_file_at);

/// Whether the request asks for the panel's WebSocket and may have it.
bool may_open_line(const HttpRequest& request, const Gate& gate, std::string_view local);

}  // namespace drybus::tools
