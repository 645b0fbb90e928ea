// A panel's server on a free port of the loopback, and connections that know nothing of HTTP.
#pragma once

#include <fmt/format.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <chrono>
#include <memory>
#include <string>
#include <thread>

#include "tests/support/panel_bench.h"
#include "tools/panel/server.h"

namespace drybus::tests {

class RunningServer {
 public:
  explicit RunningServer(const tools::Bounds& bounds = {}, const tools::Log& log = {},
                         const std::string& token = "")
      : server_(shipped("training/setup-split.yaml"),
                {.port = 0, .token = token, .bounds = bounds, .log = log}),
        thread_([this] { server_.run(); }) {}
  RunningServer(const RunningServer&) = delete;
  RunningServer& operator=(const RunningServer&) = delete;
  ~RunningServer() {
    server_.stop();
    thread_.join();
  }

  [[nodiscard]] std::uint16_t port() const { return server_.port(); }
  [[nodiscard]] std::string host() const { return fmt::format("127.0.0.1:{}", port()); }

 private:
  tools::Server server_;
  std::thread thread_;
};

class Raw {
 public:
  explicit Raw(const RunningServer& server, int receive_buffer = 0);

  void say(const std::string& text);
  /// Everything up to where the server closes; but no more than so many bytes, and no longer than so long.
  std::string rest(std::size_t most_bytes = std::size_t{4} << 20,
                   std::chrono::milliseconds longest = std::chrono::minutes{4});
  /// The server has closed, as rest found.
  [[nodiscard]] bool closed() const { return closed_; }
  /// Up to the empty line that ends an answer's head.
  std::string head();

  void close() { socket_.close(); }
  boost::asio::ip::tcp::socket take() { return std::move(socket_); }

 private:
  std::unique_ptr<boost::asio::io_context> io_ = std::make_unique<boost::asio::io_context>();
  boost::asio::ip::tcp::socket socket_{*io_};
  bool closed_ = false;
};

/// How often `part` stands in `text`.
std::size_t count_of(const std::string& part, const std::string& text);

}  // namespace drybus::tests
