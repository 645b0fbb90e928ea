// A connection below a WebSocket that shows somebody every byte that comes in.
#pragma once

#include <boost/asio/buffer.hpp>
#include <boost/asio/compose.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/websocket/teardown.hpp>
#include <functional>
#include <span>

namespace drybus::tools {

class WatchedStream {
 public:
  using next_layer_type = boost::beast::tcp_stream;
  using executor_type = next_layer_type::executor_type;
  using Watch = std::function<void(std::span<const unsigned char>)>;

  explicit WatchedStream(next_layer_type stream) : stream_(std::move(stream)) {}

  /// Called with what was read, before anybody acts upon it. It must not throw.
  void watch(Watch watch) { watch_ = std::move(watch); }

  executor_type get_executor() { return stream_.get_executor(); }
  next_layer_type& next_layer() { return stream_; }
  [[nodiscard]] const next_layer_type& next_layer() const { return stream_; }

  template <class Buffers, class Token>
  auto async_read_some(const Buffers& buffers, Token&& token) {
    return boost::asio::async_compose<Token, void(boost::system::error_code, std::size_t)>(
        [this, buffers, asked = false](auto& self, boost::system::error_code error = {},
                                       std::size_t count = 0) mutable {
          if (!asked) {
            asked = true;
            stream_.async_read_some(buffers, std::move(self));
            return;
          }
          show(buffers, count);
          self.complete(error, count);
        },
        token, stream_);
  }

  template <class Buffers, class Token>
  auto async_write_some(const Buffers& buffers, Token&& token) {
    return stream_.async_write_some(buffers, std::forward<Token>(token));
  }

  friend void teardown(boost::beast::role_type role, WatchedStream& stream,
                       boost::system::error_code& error) {
    boost::beast::websocket::teardown(role, stream.stream_.socket(), error);
  }
  template <class Handler>
  friend void async_teardown(boost::beast::role_type role, WatchedStream& stream, Handler&& handler) {
    boost::beast::websocket::async_teardown(role, stream.stream_.socket(), std::forward<Handler>(handler));
  }

 private:
  template <class Buffers>
  void show(const Buffers& buffers, std::size_t count) {
    if (!watch_) return;
    const auto end = boost::asio::buffer_sequence_end(buffers);
    for (auto each = boost::asio::buffer_sequence_begin(buffers); each != end && count > 0; ++each) {
      const boost::asio::const_buffer part{*each};
      const std::size_t size = std::min(count, part.size());
      watch_({static_cast<const unsigned char*>(part.data()), size});
      count -= size;
    }
  }

  next_layer_type stream_;
  Watch watch_;
};

}  // namespace drybus::tools
