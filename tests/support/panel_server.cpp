#include "tests/support/panel_server.h"

#include <array>
#include <boost/asio/read_until.hpp>
#include <boost/asio/write.hpp>

namespace drybus::tests {

namespace asio = boost::asio;
using asio::ip::tcp;

Raw::Raw(const RunningServer& server, int receive_buffer) {
  socket_.open(tcp::v4());
  if (receive_buffer > 0) socket_.set_option(asio::socket_base::receive_buffer_size{receive_buffer});
  socket_.connect({asio::ip::address_v4::loopback(), server.port()});
}

void Raw::say(const std::string& text) {
  boost::system::error_code error;
  asio::write(socket_, asio::buffer(text), error);
}

std::string Raw::rest(std::size_t most_bytes, std::chrono::milliseconds longest) {
  std::string text;
  std::array<char, 4096> part{};
  socket_.non_blocking(true);
  const auto end = std::chrono::steady_clock::now() + longest;
  while (!closed_ && text.size() < most_bytes && std::chrono::steady_clock::now() < end) {
    boost::system::error_code error;
    const std::size_t count = socket_.read_some(asio::buffer(part), error);
    text.append(part.data(), count);
    if (error == asio::error::would_block) {
      std::this_thread::sleep_for(std::chrono::milliseconds{2});
    } else if (error) {
      closed_ = true;
    }
  }
  return text;
}

std::string Raw::head() {
  std::string text;
  boost::system::error_code error;
  asio::read_until(socket_, asio::dynamic_buffer(text), "\r\n\r\n", error);
  return text;
}

std::size_t count_of(const std::string& part, const std::string& text) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
  return count;
}

}  // namespace drybus::tests
