#include "tools/panel/http_connection.h"

#include <fmt/format.h>

#include <boost/beast/websocket/rfc6455.hpp>

#include "tools/panel/line.h"
#include "tools/panel/page_files.h"

namespace drybus::tools {

namespace beast = boost::beast;
namespace http = boost::beast::http;

namespace {

constexpr std::uint32_t most_header_bytes = 8 * 1024;
constexpr std::uint64_t most_body_bytes = 1024;

constexpr std::string_view socket_path = "/socket";

std::string_view view(beast::string_view text) {
  return {text.data(), text.size()};
}

HttpResponse plain(const HttpRequest& request, http::status status, std::string_view text) {
  HttpResponse response{status, request.version()};
  response.set(http::field::content_type, "text/plain; charset=utf-8");
  response.body() = {text.data(), text.size()};
  return response;
}

/// What every answer says to the browser: nothing from elsewhere, in nobody's frame, kept nowhere, taken for
/// nothing else.
void add_safety(HttpResponse& response, std::string_view host) {
  // Some browsers do not take 'self' for the WebSocket, too. The host was checked before.
  const std::string policy = fmt::format(
      "default-src 'self'; connect-src 'self'{}; base-uri 'none'; form-action 'none'; "
      "frame-ancestors 'none'; object-src 'none'",
      host.empty() ? "" : fmt::format(" ws://{}", host));
  response.set("Content-Security-Policy", policy);
  response.set("X-Content-Type-Options", "nosniff");
  response.set("X-Frame-Options", "DENY");
  response.set("Referrer-Policy", "no-referrer");
  response.set("Cross-Origin-Opener-Policy", "same-origin");
  response.set("Cross-Origin-Resource-Policy", "same-origin");
  response.set(http::field::cache_control, "no-store");
}

bool origin_is_ours(const HttpRequest& request) {
  const auto origin = request.find(http::field::origin);
  return origin == request.end() || origin_fits(view(origin->value()), view(request[http::field::host]));
}

HttpResponse join(const HttpRequest& request, const Gate& gate) {
  HttpResponse response = plain(request, http::status::see_other, "Come in.\n");
  response.set(http::field::location, "/");
  response.set(http::field::set_cookie,
               fmt::format("{}={}; HttpOnly; SameSite=Lax; Path=/", gate.cookie_name(), gate.token));
  return response;
}

HttpResponse file(const HttpRequest& request) {
  const PageFile* found = page_file_at(view(request.target()));
  if (found == nullptr) return plain(request, http::status::not_found, "There is no such page.\n");
  HttpResponse response{http::status::ok, request.version()};
  const std::string_view type = content_type(found->name);
  response.set(http::field::content_type, beast::string_view{type.data(), type.size()});
  response.body() = {found->content.data(), found->content.size()};
  return response;
}

HttpResponse checked_answer(const HttpRequest& request, const Gate& gate) {
  const bool reads = request.method() == http::verb::get || request.method() == http::verb::head;
  if (!reads) {
    HttpResponse response =
        plain(request, http::status::method_not_allowed, "Only GET and HEAD are answered here.\n");
    response.set(http::field::allow, "GET, HEAD");
    return response;
  }
  if (!origin_is_ours(request)) return plain(request, http::status::forbidden, "That page is not ours.\n");
  if (gate.is_join_link(view(request.target()))) return join(request, gate);
  if (!gate.may_come_in(view(request[http::field::cookie]))) {
    return plain(request, http::status::forbidden, "Ask whoever runs the panel for the join link.\n");
  }
  if (view(request.target()) == socket_path) {
    return plain(request, http::status::upgrade_required, "Here is a WebSocket, for the panel's own page.\n");
  }
  return file(request);
}

}  // namespace

HttpResponse answer_to(const HttpRequest& request, const Gate& gate, std::string_view local) {
  const std::string_view host = view(request[http::field::host]);
  const bool ours = gate.host_is_ours(host, local);
  HttpResponse response = ours ? checked_answer(request, gate)
                               : plain(request, http::status::misdirected_request,
                                       "The panel answers to its own address only.\n");
  add_safety(response, ours ? host : std::string_view{});
  response.keep_alive(ours && request.keep_alive());
  response.content_length(response.body().size());
  if (request.method() == http::verb::head) response.body() = {};
  return response;
}

bool may_open_line(const HttpRequest& request, const Gate& gate, std::string_view local) {
  // A browser always says where its page comes from; who does not is no browser of ours.
  const auto origin = request.find(http::field::origin);
  return boost::beast::websocket::is_upgrade(request) && view(request.target()) == socket_path &&
         gate.host_is_ours(view(request[http::field::host]), local) && origin != request.end() &&
         origin_is_ours(request) && gate.may_come_in(view(request[http::field::cookie]));
}

HttpConnection::HttpConnection(boost::asio::ip::tcp::socket socket, const Gate& gate, const Bounds& bounds,
                               Reception& reception, std::shared_ptr<void> seat)
    : stream_(std::move(socket)),
      gate_(gate),
      bounds_(bounds),
      reception_(reception),
      seat_(std::move(seat)) {
  boost::system::error_code error;
  const auto here = stream_.socket().local_endpoint(error);
  if (!error) local_ = here.address().to_string();
}

void HttpConnection::read() {
  parser_.emplace();
  parser_->header_limit(most_header_bytes);
  parser_->body_limit(most_body_bytes);
  stream_.expires_after(bounds_.time_for_a_request);
  http::async_read(stream_, buffer_, *parser_,
                   [self = shared_from_this()](const boost::system::error_code& error, std::size_t) {
                     self->on_read(error);
                   });
}

void HttpConnection::on_read(const boost::system::error_code& error) {
  if (error == http::error::header_limit || error == http::error::body_limit) {
    static const HttpRequest nothing;
    return send(
        std::make_shared<HttpResponse>(plain(nothing, http::status::bad_request, "That is too much.\n")));
  }
  if (error) return;  // gone, too slow, or no HTTP: nobody to talk to
  const HttpRequest request = parser_->release();
  if (may_open_line(request, gate_, local_)) return become_line(request);
  if (boost::beast::websocket::is_upgrade(request)) {
    auto refusal = std::make_shared<HttpResponse>(answer_to(request, gate_, local_));
    if (refusal->result() == http::status::upgrade_required) refusal->result(http::status::forbidden);
    return send(refusal);
  }
  send(std::make_shared<HttpResponse>(answer_to(request, gate_, local_)));
}

void HttpConnection::become_line(const HttpRequest& request) {
  // cppcheck-suppress accessMoved // who becomes a line reads and writes no more
  std::make_shared<Line>(std::move(stream_), bounds_, reception_, seat_)->open(request);
}

void HttpConnection::send(const std::shared_ptr<HttpResponse>& response) {
  stream_.expires_after(bounds_.time_for_an_answer);
  const auto on_sent = [self = shared_from_this(), response](const boost::system::error_code& error,
                                                             std::size_t) {
    if (!error && response->keep_alive()) return self->read();
    boost::system::error_code ignored;
    self->stream_.socket().shutdown(boost::asio::ip::tcp::socket::shutdown_send, ignored);
  };
  http::async_write(stream_, *response, on_sent);
}

}  // namespace drybus::tools
