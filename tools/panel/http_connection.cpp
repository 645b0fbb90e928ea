#include "tools/panel/http_connection.h"

#include <fmt/format.h>

#include <boost/beast/websocket/rfc6455.hpp>

#include "model/words/words.h"
#include "tools/panel/line.h"
#include "tools/panel/page_files.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;

namespace beast = boost::beast;
namespace http = boost::beast::http;

namespace {

constexpr std::uint32_t most_header_bytes = 8 * 1024;
/// So much is taken and thrown away of what somebody says after their last answer.
constexpr std::size_t most_passed_over = std::size_t{256} << 10;

constexpr std::string_view socket_path = "/socket";
/// With the key to a seat that was left a moment ago.
constexpr std::string_view socket_path_with_key = "/socket?seat=";

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

/// Two of them leave open who is asked for what.
bool has_two_of_one(const HttpRequest& request) {
  return request.count(http::field::host) > 1 || request.count(http::field::origin) > 1;
}

bool asks_for_line(const HttpRequest& request) {
  const std::string_view target = view(request.target());
  return target == socket_path || target.starts_with(socket_path_with_key);
}

/// For a log: without what follows the path, as keys stand there.
std::string_view path_of(const HttpRequest& request) {
  const std::string_view target = view(request.target());
  return target.substr(0, target.find('?'));
}

bool origin_is_ours(const HttpRequest& request) {
  const auto origin = request.find(http::field::origin);
  return origin == request.end() || origin_fits(view(origin->value()), view(request[http::field::host]));
}

HttpResponse let_in(const HttpRequest& request, const Gate& gate, Role role) {
  HttpResponse response = plain(request, http::status::see_other, in_words_spoken(msg("Come in.\n")));
  response.set(http::field::location, "/");
  response.set(http::field::set_cookie,
               fmt::format("{}={}; HttpOnly; SameSite=Lax; Path=/", gate.cookie_name(), gate.token_of(role)));
  return response;
}

HttpResponse file(const HttpRequest& request, const FindPageFile& find) {
  const PageFile* found = find(view(request.target()));
  if (found == nullptr)
    return plain(request, http::status::not_found, in_words_spoken(msg("There is no such page.\n")));
  HttpResponse response{http::status::ok, request.version()};
  const std::string_view type = content_type(found->name);
  response.set(http::field::content_type, beast::string_view{type.data(), type.size()});
  response.body() = {found->content.data(), found->content.size()};
  return response;
}

HttpResponse checked_answer(const HttpRequest& request, const Gate& gate, const FindPageFile& find) {
  const bool reads = request.method() == http::verb::get || request.method() == http::verb::head;
  if (!reads) {
    HttpResponse response = plain(request, http::status::method_not_allowed,
                                  in_words_spoken(msg("Only GET and HEAD are answered here.\n")));
    response.set(http::field::allow, "GET, HEAD");
    return response;
  }
  if (!origin_is_ours(request))
    return plain(request, http::status::forbidden, in_words_spoken(msg("That page is not ours.\n")));
  if (const auto role = gate.role_of_link(view(request.target()))) return let_in(request, gate, *role);
  const auto role = gate.role_of(view(request[http::field::cookie]));
  if (!role)
    return plain(request, http::status::forbidden,
                 in_words_spoken(msg("Ask whoever runs the panel for the join link.\n")));
  if (asks_for_line(request)) {
    return plain(request, http::status::upgrade_required,
                 in_words_spoken(msg("Here is a WebSocket, for the panel's own page.\n")));
  }
  return file(request, find);
}

}  // namespace

HttpResponse answer_to(const HttpRequest& request, const Gate& gate, std::string_view local,
                       const FindPageFile& find) {
  const std::string_view host = view(request[http::field::host]);
  const bool ours = !has_two_of_one(request) && gate.host_is_ours(host, local);
  HttpResponse response =
      has_two_of_one(request) ? plain(request, http::status::bad_request,
                                      in_words_spoken(msg("One Host and one Origin, please.\n")))
      : ours                  ? checked_answer(request, gate, find)
                              : plain(request, http::status::misdirected_request,
                                      in_words_spoken(msg("The panel answers to its own address only.\n")));
  add_safety(response, ours ? host : std::string_view{});
  const bool reads = request.method() == http::verb::get || request.method() == http::verb::head;
  response.keep_alive(ours && reads && request.keep_alive());
  response.content_length(response.body().size());
  if (request.method() == http::verb::head) response.body() = {};
  return response;
}

bool may_open_line(const HttpRequest& request, const Gate& gate, std::string_view local) {
  // A browser always says where its page comes from; who does not is no browser of ours.
  const auto origin = request.find(http::field::origin);
  return boost::beast::websocket::is_upgrade(request) && asks_for_line(request) && !has_two_of_one(request) &&
         gate.host_is_ours(view(request[http::field::host]), local) && origin != request.end() &&
         origin_is_ours(request) && gate.role_of(view(request[http::field::cookie])).has_value();
}

HttpConnection::HttpConnection(boost::asio::ip::tcp::socket socket, const Gate& gate, const Bounds& bounds,
                               FrontDesk& reception, Log log, std::shared_ptr<void> seat)
    : stream_(std::move(socket)),
      gate_(gate),
      bounds_(bounds),
      reception_(reception),
      log_(std::move(log)),
      seat_(std::move(seat)),
      requests_(bounds.requests_at_once, bounds.requests_per_second) {
  boost::system::error_code error;
  const auto here = stream_.socket().local_endpoint(error);
  if (!error) local_ = here.address().to_string();
  const auto there = stream_.socket().remote_endpoint(error);
  peer_ = error ? "somebody who is gone" : fmt::format("{}:{}", there.address().to_string(), there.port());
  log_.debug("{} connected", peer_);
}

HttpConnection::~HttpConnection() {
  if (!is_line_) log_.debug("{} closed", peer_);
}

void HttpConnection::read() {
  parser_.emplace();
  parser_->header_limit(most_header_bytes);
  stream_.expires_after(bounds_.time_for_a_request);
  http::async_read_header(stream_, buffer_, *parser_,
                          [self = shared_from_this()](const boost::system::error_code& error, std::size_t) {
                            self->on_read(error);
                          });
}

void HttpConnection::on_read(const boost::system::error_code& error) {
  if (error == http::error::header_limit) {
    return refuse(http::status::request_header_fields_too_large, msg("That head is too long.\n"));
  }
  if (error == http::error::body_limit) {
    return refuse(http::status::payload_too_large, msg("Nobody here takes a body.\n"));
  }
  if (error == http::error::end_of_stream || error == http::error::partial_message) return;
  const bool is_no_http = error.category() == http::make_error_code(http::error::bad_method).category();
  if (error && is_no_http) return refuse(http::status::bad_request, msg("That is no HTTP.\n"));
  if (error) {  // gone, or too slow: nobody to talk to
    if (error == beast::error::timeout) log_.info("{} closed: it asked for nothing in time", peer_);
    return;
  }
  if (!requests_.take(1, reception_.now())) {
    return refuse(http::status::too_many_requests, msg("That is too much at once.\n"));
  }
  if (!parser_->is_done()) {
    return refuse(http::status::payload_too_large, msg("Nobody here takes a body.\n"));
  }
  answer(parser_->release());
}

void HttpConnection::answer(const HttpRequest& request) {
  if (may_open_line(request, gate_, local_)) return become_line(request);
  auto response =
      std::make_shared<HttpResponse>(answer_to(request, gate_, local_, [&](std::string_view path) {
        return reception_.page_file(path, view(request[http::field::accept_language]));
      }));
  if (boost::beast::websocket::is_upgrade(request) && response->result() == http::status::upgrade_required) {
    response->result(http::status::forbidden);
  }
  const LogLevel level = response->result_int() < 400 ? LogLevel::debug : LogLevel::info;
  if (log_.says(level)) {
    log_.write(level, fmt::format("{} {} {}: {}", peer_, view(request.method_string()), path_of(request),
                                  response->result_int()));
  }
  send(response);
}

void HttpConnection::become_line(const HttpRequest& request) {
  is_line_ = true;
  const std::string_view target = view(request.target());
  std::string key;
  if (target.starts_with(socket_path_with_key)) key = target.substr(socket_path_with_key.size());
  // cppcheck-suppress accessMoved // who becomes a line reads and writes no more
  std::make_shared<Line>(
      std::move(stream_), bounds_, reception_,
      Line::Caller{peer_, std::move(key),
                   gate_.role_of(view(request[http::field::cookie])).value_or(Role::onlooker)},
      log_, seat_)
      ->open(request);
}

/// Said once, whatever else they send.
void HttpConnection::refuse(http::status status, std::string_view why) {
  static const HttpRequest nothing;
  auto response = std::make_shared<HttpResponse>(plain(nothing, status, in_words_spoken(why)));
  add_safety(*response, {});
  response->keep_alive(false);
  response->content_length(response->body().size());
  log_.info("{} refused: {} {}", peer_, response->result_int(), why.substr(0, why.size() - 1));
  send(response);
}

void HttpConnection::send(const std::shared_ptr<HttpResponse>& response) {
  stream_.expires_after(bounds_.time_for_an_answer);
  const auto on_sent = [self = shared_from_this(), response](const boost::system::error_code& error,
                                                             std::size_t) {
    if (error) return;
    if (response->keep_alive()) return self->read();
    self->say_no_more();
  };
  http::async_write(stream_, *response, on_sent);
}

/// A socket that is closed with something unread in it is reset, and that may overtake the answer: what still
/// comes is passed over for a moment.
void HttpConnection::say_no_more() {
  boost::system::error_code ignored;
  stream_.socket().shutdown(boost::asio::ip::tcp::socket::shutdown_send, ignored);
  stream_.expires_after(bounds_.time_to_go);
  buffer_.clear();
  pass_over();
}

void HttpConnection::pass_over() {
  constexpr std::size_t at_once = 4096;
  stream_.async_read_some(
      buffer_.prepare(at_once),
      [self = shared_from_this()](const boost::system::error_code& error, std::size_t count) {
        self->passed_over_ += count;
        if (!error && self->passed_over_ < most_passed_over) self->pass_over();
      });
}

}  // namespace drybus::tools
