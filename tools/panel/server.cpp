#include "tools/panel/server.h"

#include <fmt/format.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <csignal>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/panel/http_connection.h"
#include "tools/panel/reception.h"

namespace drybus::tools {

using model::tr;

namespace asio = boost::asio;
using asio::ip::tcp;

namespace {

/// So long viewers have to take their farewell when the server ends.
constexpr auto time_to_leave = std::chrono::milliseconds{300};
/// When the system has no sockets left, it will not have some the next moment.
constexpr auto time_to_recover = std::chrono::milliseconds{100};

tcp::endpoint endpoint_of(const ServerOptions& options) {
  boost::system::error_code error;
  const auto address = asio::ip::make_address(options.address, error);
  if (error) {
    throw Unusable{
        tr("'{}' is no address to listen on: expected numbers such as 192.168.1.20, or 0.0.0.0 "
           "for all of this machine's",
           options.address)};
  }
  return {address, options.port};
}

[[noreturn]] void cannot_listen(const tcp::endpoint& endpoint, const boost::system::error_code& error) {
  if (error == asio::error::address_in_use) {
    throw Unusable{
        tr("port {} is taken already, perhaps by another panel; name another one with --port, or "
           "0 for any that is free",
           endpoint.port())};
  }
  throw Unusable{tr("cannot listen on {} port {}: {}", endpoint.address().to_string(), endpoint.port(),
                    error.message())};
}

tcp::acceptor listening(asio::io_context& io, const tcp::endpoint& endpoint) {
  tcp::acceptor acceptor{io};
  boost::system::error_code error;
  acceptor.open(endpoint.protocol(), error);
  if (!error) acceptor.set_option(tcp::acceptor::reuse_address{true}, error);
  if (!error) acceptor.bind(endpoint, error);
  if (!error) acceptor.listen(asio::socket_base::max_listen_connections, error);
  if (error) cannot_listen(endpoint, error);
  return acceptor;
}

}  // namespace

/// The open port and all that hangs on it.
class Server::Port {
 public:
  Port(const MakeFrontDesk& make, const ServerOptions& options)
      : acceptor_(listening(io_, endpoint_of(options))),
        bounds_(options.bounds),
        gate_{acceptor_.local_endpoint().port(), options.token, options.trainer_key, options.onlooker_token},
        log_(options.log),
        reception_(make(io_)),
        signals_(io_, SIGINT, SIGTERM),
        later_(io_) {
    signals_.async_wait([this](const boost::system::error_code& error, int) {
      if (!error) close();
    });
    log_.info("listening on {} port {}{}", acceptor_.local_endpoint().address().to_string(), number(),
              options.token.empty() ? "" : ", for those who have the join link");
    accept();
  }

  [[nodiscard]] std::uint16_t number() const { return gate_.port; }
  void run() { io_.run(); }
  void stop() {
    asio::post(io_, [this] { close(); });
  }

 private:
  void accept() {
    acceptor_.async_accept([this](const boost::system::error_code& error, tcp::socket socket) {
      if (!acceptor_.is_open()) return;
      if (error) return recover(error);
      greet(std::move(socket));
      accept();
    });
  }

  void recover(const boost::system::error_code& why) {
    log_.warn("nobody can come in for a moment: {}", why.message());
    later_.expires_after(time_to_recover);
    later_.async_wait([this](const boost::system::error_code& error) {
      if (!error && acceptor_.is_open()) accept();
    });
  }

  void greet(tcp::socket socket) {
    if (*taken_ >= bounds_.most_connections) {
      log_.info("a connection is turned away: there are {} already", *taken_);
      return;  // the socket closes itself: who comes later may find a seat
    }
    ++*taken_;
    std::shared_ptr<void> seat{nullptr, [taken = taken_](void*) { --*taken; }};
    std::make_shared<HttpConnection>(std::move(socket), gate_, bounds_, *reception_, log_, std::move(seat))
        ->read();
  }

  void close() {
    if (!acceptor_.is_open()) return;
    log_.info("the panel ends");
    boost::system::error_code ignored;
    acceptor_.close(ignored);
    signals_.cancel(ignored);
    reception_->close();
    later_.expires_after(time_to_leave);
    later_.async_wait([this](const boost::system::error_code&) { io_.stop(); });
  }

  std::shared_ptr<std::size_t> taken_ = std::make_shared<std::size_t>(0);
  asio::io_context io_{1};
  tcp::acceptor acceptor_;
  Bounds bounds_;
  Gate gate_;
  Log log_;
  std::unique_ptr<FrontDesk> reception_;
  asio::signal_set signals_;
  asio::steady_timer later_;
};

Server::Server(Task task, const ServerOptions& options)
    : Server([&](asio::io_context& io) { return std::make_unique<Reception>(io, std::move(task), options); },
             options) {}

Server::Server(const MakeFrontDesk& make, const ServerOptions& options)
    : open_(std::make_unique<Port>(make, options)) {}

Server::~Server() = default;

std::uint16_t Server::port() const {
  return open_->number();
}

void Server::run() {
  open_->run();
}

void Server::stop() {
  open_->stop();
}

}  // namespace drybus::tools
