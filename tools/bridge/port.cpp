#include "tools/bridge/port.h"

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <boost/asio/connect.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/serial_port.hpp>
#include <boost/asio/write.hpp>
#include <charconv>
#include <deque>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/bridge/slip.h"

namespace drybus::tools {

using model::tr;

namespace asio = boost::asio;
using boost::system::error_code;
using Local = asio::local::stream_protocol;
using asio::ip::tcp;

namespace {

[[noreturn]] void refuse(const std::string& where, const std::string& why) {
  throw Unusable{tr("--port {}: {}", where, why)};
}

asio::ip::address address_of(const Where& where, bool from_anywhere, const std::string& text) {
  error_code error;
  const std::string host = where.path == "localhost" ? "127.0.0.1" : where.path;
  const auto address = asio::ip::make_address(host, error);
  if (error) refuse(text, tr("expected an address of this machine, such as 127.0.0.1"));
  if (!address.is_loopback() && !from_anywhere) {
    refuse(text, tr("other machines could reach it there: whoever does is a device of the site. "
                    "--from-anywhere allows that"));
  }
  return address;
}

/// A path where a socket may be made: nothing lies there, or a socket that nobody listens at.
void make_room_for_socket(const std::string& path, const std::string& text) {
  struct stat found {};
  if (lstat(path.c_str(), &found) != 0) return;
  if (!S_ISSOCK(found.st_mode)) refuse(text, tr("something that is no socket lies there"));
  asio::io_context context;
  Local::socket probe{context};
  error_code error;
  probe.connect(Local::endpoint{path}, error);
  if (!error) refuse(text, tr("somebody listens there already"));
  unlink(path.c_str());
}

}  // namespace

Where parse_where(const std::string& text) {
  Where where;
  if (text.starts_with("unix:")) {
    where.kind = Where::Kind::local_socket;
    where.path = text.substr(5);
    constexpr std::size_t longest = 107;  // sockaddr_un's
    if (where.path.empty() || where.path.size() > longest)
      refuse(text, tr("expected unix:PATH, of at most 107 characters"));
    return where;
  }
  if (text.starts_with("tcp:")) {
    where.kind = Where::Kind::tcp;
    const std::size_t colon = text.rfind(':');
    const std::string port = text.substr(colon + 1);
    const auto [end, error] = std::from_chars(port.data(), port.data() + port.size(), where.port);
    if (colon <= 4 || port.empty() || error != std::errc{} || end != port.data() + port.size())
      refuse(text, tr("expected tcp:HOST:PORT, such as tcp:127.0.0.1:0"));
    where.path = text.substr(4, colon - 4);
    if (where.path.starts_with('[') && where.path.ends_with(']'))
      where.path = where.path.substr(1, where.path.size() - 2);
    return where;
  }
  if (text.empty()) refuse(text, tr("expected a serial port, unix:PATH or tcp:HOST:PORT"));
  where.path = text;
  return where;
}

/// Any of the three streams, asked and told in turn by one thread.
class Port::Line {
 public:
  explicit Line(const PortOptions& options) : options_(options), decoder_(longest_packet) {
    switch (options.where.kind) {
      case Where::Kind::serial:
        open_serial();
        break;
      case Where::Kind::local_socket:
        listen_locally();
        break;
      case Where::Kind::tcp:
        listen_on_tcp();
        break;
    }
  }
  ~Line() {
    if (made_socket_) unlink(options_.where.path.c_str());
  }
  Line(const Line&) = delete;
  Line& operator=(const Line&) = delete;

  [[nodiscard]] std::string text() const {
    switch (options_.where.kind) {
      case Where::Kind::serial:
        return options_.where.path;
      case Where::Kind::local_socket:
        return "unix:" + options_.where.path;
      case Where::Kind::tcp:
        break;
    }
    const auto end = tcp_acceptor_->local_endpoint();
    const std::string host = end.address().to_string();
    return end.address().is_v6() ? fmt::format("tcp:[{}]:{}", host, end.port())
                                 : fmt::format("tcp:{}:{}", host, end.port());
  }

  bool wait_for_device(SteadyTime until) {
    bool connected = options_.where.kind == Where::Kind::serial;
    const auto on_accept = [&](const error_code& error) { connected = !error; };
    if (local_acceptor_) local_acceptor_->async_accept(local_, on_accept);
    if (tcp_acceptor_) tcp_acceptor_->async_accept(tcp_, on_accept);
    context_.restart();
    while (!connected && context_.run_one_until(until) != 0) {
    }
    // Nobody else comes in.
    if (local_acceptor_) local_acceptor_->cancel();
    if (tcp_acceptor_) tcp_acceptor_->cancel();
    context_.restart();
    context_.poll();
    if (!connected) return false;
    if (tcp_acceptor_) {
      error_code ignored;
      tcp_.set_option(tcp::no_delay{true}, ignored);
    }
    start_reading();
    return true;
  }

  void send(const Outgoing& message) {
    if (options_.lines) {
      const std::string line = to_line(message);
      unsent_.insert(unsent_.end(), line.begin(), line.end());
    } else {
      const auto packet = slip_encoded(to_packet(message));
      unsent_.insert(unsent_.end(), packet.begin(), packet.end());
    }
    start_writing();
    if (unsent_.size() + writing_.size() > most_unsent)
      end(tr("the device does not read what is sent to it"));
  }

  std::optional<std::variant<Incoming, Unreadable, LineEnd>> receive(SteadyTime until) {
    for (;;) {
      if (!arrived_.empty()) {
        auto message = std::move(arrived_.front());
        arrived_.pop_front();
        start_reading();
        if (const auto* incoming = std::get_if<Incoming>(&message)) return *incoming;
        return std::get<Unreadable>(message);
      }
      if (ended_) return LineEnd{*ended_};
      context_.restart();
      if (context_.run_one_until(until) == 0) return std::nullopt;
    }
  }

  void close(std::chrono::milliseconds at_most) {
    const SteadyTime until = std::chrono::steady_clock::now() + at_most;
    context_.restart();
    while (!ended_ && !(unsent_.empty() && writing_.empty()) && context_.run_one_until(until) != 0)
      context_.restart();
    error_code ignored;
    serial_.close(ignored);
    local_.close(ignored);
    tcp_.close(ignored);
  }

 private:
  void open_serial() {
    error_code error;
    serial_.open(options_.where.path, error);
    if (error) refuse(options_.where.path, tr("cannot be opened as a serial port: {}", error.message()));
    using Serial = asio::serial_port_base;
    serial_.set_option(Serial::baud_rate{options_.baud}, error);
    if (error) refuse(options_.where.path, tr("does not go at {} baud: {}", options_.baud, error.message()));
    serial_.set_option(Serial::character_size{8}, error);
    serial_.set_option(Serial::parity{Serial::parity::none}, error);
    serial_.set_option(Serial::stop_bits{Serial::stop_bits::one}, error);
    serial_.set_option(Serial::flow_control{Serial::flow_control::none}, error);
  }

  void listen_locally() {
    make_room_for_socket(options_.where.path, text());
    error_code error;
    local_acceptor_.emplace(context_);
    local_acceptor_->open(Local{}, error);
    if (!error) local_acceptor_->bind(Local::endpoint{options_.where.path}, error);
    made_socket_ = !error;
    if (!error) chmod(options_.where.path.c_str(), S_IRUSR | S_IWUSR);
    if (!error) local_acceptor_->listen(1, error);
    if (error) refuse(text(), tr("cannot listen there: {}", error.message()));
  }

  void listen_on_tcp() {
    const std::string asked = fmt::format("tcp:{}:{}", options_.where.path, options_.where.port);
    const tcp::endpoint end{address_of(options_.where, options_.from_anywhere, asked), options_.where.port};
    error_code error;
    tcp_acceptor_.emplace(context_);
    tcp_acceptor_->open(end.protocol(), error);
    if (!error) tcp_acceptor_->set_option(tcp::acceptor::reuse_address{true}, error);
    if (!error) tcp_acceptor_->bind(end, error);
    if (!error) tcp_acceptor_->listen(1, error);
    if (error) refuse(asked, tr("cannot listen there: {}", error.message()));
  }

  template <class Work>
  void with_stream(Work work) {
    switch (options_.where.kind) {
      case Where::Kind::serial:
        return work(serial_);
      case Where::Kind::local_socket:
        return work(local_);
      case Where::Kind::tcp:
        return work(tcp_);
    }
  }

  /// Reads on, unless the session has not yet taken what came: then the other end has to wait.
  void start_reading() {
    if (reading_ || ended_ || arrived_.size() >= most_waiting) return;
    reading_ = true;
    with_stream([this](auto& stream) {
      stream.async_read_some(asio::buffer(buffer_), [this](const error_code& error, std::size_t count) {
        reading_ = false;
        for (std::size_t i = 0; i < count; ++i) take(buffer_[i]);
        if (error) return end(end_text(error));
        start_reading();
      });
    });
  }

  void start_writing() {
    if (!writing_.empty() || unsent_.empty() || ended_) return;
    writing_.assign(unsent_.begin(), unsent_.end());
    unsent_.clear();
    with_stream([this](auto& stream) {
      asio::async_write(stream, asio::buffer(writing_), [this](const error_code& error, std::size_t) {
        writing_.clear();
        if (error) return end(end_text(error));
        start_writing();
      });
    });
  }

  static std::string end_text(const error_code& error) {
    // A pseudo-terminal whose other end is closed answers with an input/output error.
    const bool closed = error == asio::error::eof || error == asio::error::connection_reset ||
                        error == asio::error::broken_pipe || error.value() == EIO;
    return closed ? tr("the device closed the line") : tr("the line fails: {}", error.message());
  }

  void end(std::string why) {
    if (!ended_) ended_ = std::move(why);
  }

  void take(std::uint8_t byte) {
    if (options_.lines) return take_of_line(byte);
    const auto packet = decoder_.take(byte);
    if (!packet) return;
    if (packet->too_long) return put(Unreadable{tr("a packet of more than {} bytes", longest_packet)});
    if (packet->violation)
      return put(Unreadable{tr("a packet in which an ESC stands before neither of its two bytes")});
    put_either(from_packet(packet->bytes));
  }

  void take_of_line(std::uint8_t byte) {
    if (byte != '\n') {
      if (line_.size() <= longest_line) line_.push_back(static_cast<char>(byte));
      return;
    }
    if (line_.size() > longest_line) {
      put(Unreadable{tr("a line of more than {} characters", longest_line)});
    } else if (line_.find_first_not_of(" \t\r") != std::string::npos) {
      put_either(from_line(line_));
    }
    line_.clear();
  }

  void put_either(std::variant<Incoming, Unreadable> message) { arrived_.push_back(std::move(message)); }
  void put(Unreadable unreadable) { arrived_.emplace_back(std::move(unreadable)); }

  PortOptions options_;
  asio::io_context context_;
  asio::serial_port serial_{context_};
  Local::socket local_{context_};
  tcp::socket tcp_{context_};
  std::optional<Local::acceptor> local_acceptor_;
  std::optional<tcp::acceptor> tcp_acceptor_;
  bool made_socket_ = false;
  SlipDecoder decoder_;
  std::string line_;
  std::array<std::uint8_t, 1'024> buffer_{};
  bool reading_ = false;
  std::deque<std::variant<Incoming, Unreadable>> arrived_;
  std::vector<std::uint8_t> unsent_;
  std::vector<std::uint8_t> writing_;
  std::optional<std::string> ended_;
};

Port::Port(const PortOptions& options) : line_(std::make_unique<Line>(options)) {}
Port::~Port() = default;

std::string Port::text() const {
  return line_->text();
}
bool Port::wait_for_device(SteadyTime until) {
  return line_->wait_for_device(until);
}
void Port::send(const Outgoing& message) {
  line_->send(message);
}
std::optional<std::variant<Incoming, Unreadable, LineEnd>> Port::receive(SteadyTime until) {
  return line_->receive(until);
}
void Port::close(std::chrono::milliseconds at_most) {
  line_->close(at_most);
}

}  // namespace drybus::tools
