// A real server on a real port, and clients that mean it ill.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <boost/asio.hpp>
#include <boost/beast.hpp>
#include <boost/beast/websocket.hpp>
#include <boost/json.hpp>
#include <thread>

#include "tests/support/panel_server.h"
#include "tests/support/program.h"
#include "tools/panel/frame_watch.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
namespace json = boost::json;
using asio::ip::tcp;

/// A viewer, as the page is one.
class Viewer {
 public:
  explicit Viewer(const RunningServer& server, const std::string& origin = "", int receive_buffer = 0)
      : raw_(server, receive_buffer), socket_(raw_.take()) {
    socket_.set_option(beast::websocket::stream_base::decorator([&](beast::websocket::request_type& request) {
      request.set(http::field::origin, origin.empty() ? "http://" + server.host() : origin);
    }));
    beast::websocket::response_type response;
    socket_.handshake(response, server.host(), "/socket", error);
    status = response.result_int();
  }

  void say(const std::string& text) {
    boost::system::error_code ignored;
    socket_.write(asio::buffer(text), ignored);
  }
  void say_binary(const std::string& bytes) {
    socket_.binary(true);
    say(bytes);
  }
  /// The next message; empty when the line was closed.
  json::object hear() {
    beast::flat_buffer buffer;
    socket_.read(buffer, error);
    if (error) return {};
    return json::parse(beast::buffers_to_string(buffer.data())).as_object();
  }
  /// Messages up to one of that type, which comes last; empty when the line was closed.
  json::object hear(const std::string& type) {
    for (;;) {
      json::object message = hear();
      if (message.empty() || message.at("type").as_string() == type) return message;
      ++passed_over;
    }
  }
  /// Why the server closed the line, when that is all that it still has to say.
  unsigned code_of_close() {
    while (!hear().empty()) {
    }
    return socket_.reason().code;
  }
  /// The same for a viewer who says more than the server reads: the line is reset then, and that may overtake the reason.
  bool closed_for(unsigned code) {
    const unsigned told = code_of_close();
    return told == code || told == beast::websocket::close_code::none;
  }

  boost::system::error_code error;
  unsigned status = 0;
  std::size_t passed_over = 0;

 private:
  Raw raw_;
  beast::websocket::stream<tcp::socket> socket_;
};

unsigned status_of(const RunningServer& server, const std::string& target, const std::string& host) {
  Raw raw{server};
  raw.say(fmt::format("GET {} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", target, host));
  const std::string answer = raw.rest();
  return answer.size() < 12 ? 0 : static_cast<unsigned>(std::stoul(answer.substr(9, 3)));
}

/// What a browser asks with for a line; more headers as given.
std::string upgrade_request(const RunningServer& server, const std::string& more) {
  return fmt::format(
      "GET /socket HTTP/1.1\r\nHost: {0}\r\n{1}Origin: http://{0}\r\nConnection: Upgrade\r\nUpgrade: "
      "websocket\r\n"
      "Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n",
      server.host(), more);
}

/// A frame as a client sends it (RFC 6455, section 5.2), under a mask of zeros; `first` is its first byte.
std::string frame_of(unsigned first, const std::string& payload) {
  std::string frame{static_cast<char>(first)};
  const auto add = [&](std::size_t value, int bytes) {
    while (bytes-- > 0) frame += static_cast<char>(value >> (8 * bytes) & 0xff);
  };
  if (payload.size() < 126) {
    add(0x80 | payload.size(), 1);
  } else if (payload.size() < 65'536) {
    add(0x80 | 126, 1);
    add(payload.size(), 2);
  } else {
    add(0x80 | 127, 1);
    add(payload.size(), 8);
  }
  return frame + std::string(4, '\0') + payload;
}

/// The server is well: a newcomer is served a page, a line and an answer.
void serves(const RunningServer& server) {
  CHECK(status_of(server, "/", server.host()) == 200);
  Viewer viewer{server};
  CHECK(viewer.hear("hello").at("protocol").to_number<int>() == 1);
  viewer.say(R"({"do":"save","ref":"alive"})");
  CHECK(viewer.hear("saved").at("ref").as_string() == "alive");
}

/// Runs the program until it says that it is ready, and then presses Ctrl-C.
Ran interrupted(const std::string& arguments) {
  return shell(
      "d=$(mktemp -d); '" DRYBUS_PROGRAM "' " + arguments +
      " >$d/out 2>$d/err & p=$!; "
      "for i in $(seq 12000); do grep -qs Ctrl-C $d/out && break; kill -0 $p || break; sleep 0.02; done; "
      "kill -INT $p; wait $p; code=$?; cat $d/out; cat $d/err >&2; rm -r $d; exit $code");
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("the server gives its page and a line to the bench") {
    const RunningServer server;
    Raw raw{server};
    raw.say(fmt::format("GET / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", server.host()));
    const std::string page = raw.rest();
    CHECK(page.find("Content-Type: text/html; charset=utf-8") != std::string::npos);
    CHECK(page.find("<html") != std::string::npos);
    CHECK(status_of(server, "/", "evil.example") == 421);
    CHECK(status_of(server, "/nothing", server.host()) == 404);
    Viewer viewer{server};
    viewer.hear("viewers");
    viewer.say(R"({"do":"press","device":"P1","buttons":["set"],"ref":1})");
    CHECK(viewer.hear("changed").at("devices").at("P1").at("down") == json::value(json::array{"set"}));
    CHECK(viewer.hear("done").at("ref").to_number<int>() == 1);
    serves(server);
  }

  TEST_CASE("while it plays, news comes by itself") {
    const RunningServer server;
    Viewer holder{server};
    Viewer guest{server};
    holder.say(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":5.2})");
    holder.say(R"({"do":"speed","speed":1000})");
    holder.say(R"({"do":"play"})");
    for (;;) {
      const json::object news = guest.hear("changed");
      REQUIRE_FALSE(news.empty());
      if (!news.contains("devices")) continue;
      const json::value* plate = news.at("devices").as_object().if_contains("P1");
      if (plate != nullptr && plate->at("indicator").at("pattern").as_string() == "blink") break;
    }
  }

  TEST_CASE("a page from elsewhere gets no line") {
    const RunningServer server;
    const Viewer foreign{server, "http://evil.example"};
    CHECK(foreign.error);
    CHECK(foreign.status == 403);
    serves(server);
  }

  TEST_CASE("a message that is too long ends that line, and no other") {
    const RunningServer server;
    Viewer bystander{server};
    Viewer hostile{server};
    hostile.hear("viewers");
    hostile.say(R"({"do":"note","text":")" + std::string(200'000, 'x') + "\"}");
    CHECK(hostile.closed_for(beast::websocket::close_code::too_big));
    bystander.say(R"({"do":"speed","speed":3,"ref":1})");
    CHECK_FALSE(bystander.hear("done").empty());
    serves(server);
  }

  TEST_CASE("binary data ends the line") {
    const RunningServer server;
    Viewer hostile{server};
    hostile.say_binary(std::string("\x00\xff\x80", 3));
    CHECK(hostile.code_of_close() == beast::websocket::close_code::unknown_data);
    serves(server);
  }

  TEST_CASE("text that is no UTF-8 ends the line") {
    const RunningServer server;
    Viewer hostile{server};
    hostile.hear("viewers");
    hostile.say("{\"do\":\"\xff\xfe\"}");
    CHECK(hostile.code_of_close() == beast::websocket::close_code::bad_payload);
    serves(server);
  }

  TEST_CASE("a flood ends the line") {
    const RunningServer server;
    Viewer bystander{server};
    Viewer hostile{server};
    for (int i = 0; i < 2'000; ++i) hostile.say(R"({"do":"ask_controls"})");
    CHECK(hostile.closed_for(beast::websocket::close_code::policy_error));
    bystander.say(R"({"do":"speed","speed":3,"ref":1})");
    CHECK_FALSE(bystander.hear("done").empty());
    serves(server);
  }

  TEST_CASE("too much nonsense ends the line, a little is answered") {
    const RunningServer server;
    Viewer hostile{server};
    hostile.hear("viewers");
    hostile.say("{");
    CHECK(hostile.hear("refused").at("code").as_string() == "message");
    for (int i = 0; i < 40; ++i) hostile.say("[[[[[[[[[[[[[[[[[[[[");
    CHECK(hostile.closed_for(beast::websocket::close_code::policy_error));
    serves(server);
  }

  TEST_CASE("who asks for more work than their share is refused, and not the others") {
    Bounds bounds;
    bounds.work_at_once = 0.01;
    bounds.work_per_second = 1e-9;
    const RunningServer server{bounds};
    Viewer bystander{server};
    Viewer greedy{server};
    for (int i = 0; i < 150; ++i) greedy.say(R"({"do":"save","branch":1})");
    CHECK(greedy.hear("refused").at("code").as_string() == "limit");
    bystander.say(R"({"do":"speed","speed":3,"ref":1})");
    CHECK_FALSE(bystander.hear("done").empty());
  }

  TEST_CASE("connections that say nothing, or only half of it, are closed in time") {
    Bounds bounds;
    bounds.time_for_a_request = 1s;
    const RunningServer server{bounds};
    Raw silent{server};
    Raw half{server};
    half.say("GET / HTTP/1.1\r\nHost: 127.");
    Raw nonsense{server};
    nonsense.say(std::string("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", 11));  // as a TLS client begins
    Raw endless{server};
    endless.say("GET / HTTP/1.1\r\nX: " + std::string(100'000, 'x'));
    CHECK(silent.rest().empty());
    CHECK(half.rest().empty());
    nonsense.rest();
    endless.rest();
    serves(server);
  }

  TEST_CASE("two Host headers, or two origins, are refused: which of them was meant?") {
    const RunningServer server;
    const std::string begin = "GET / HTTP/1.1\r\nConnection: close\r\n";
    const std::string ours = "Host: " + server.host() + "\r\n";
    const std::string foreign = "Host: evil.example\r\n";
    for (const std::string& hosts :
         {ours + foreign, foreign + ours, ours + ours, ours + "Origin: a\r\nOrigin: b\r\n"}) {
      Raw raw{server};
      raw.say(begin + hosts + "\r\n");
      CHECK(raw.rest().starts_with("HTTP/1.1 400"));
    }
    Raw line{server};
    line.say(upgrade_request(server, foreign));
    CHECK(line.rest().starts_with("HTTP/1.1 400"));
    serves(server);
  }

  TEST_CASE("one connection asks for so much at once, and is then shown out") {
    Bounds bounds;
    bounds.requests_at_once = 5;
    bounds.requests_per_second = 1e-9;
    const RunningServer server{bounds};
    Raw greedy{server};
    for (int i = 0; i < 20; ++i) {
      greedy.say("GET /icon.svg HTTP/1.1\r\nHost: " + server.host() + "\r\n\r\n");
    }
    const std::string answers = greedy.rest();
    CHECK(greedy.closed());
    CHECK(count_of("HTTP/1.1 200", answers) == 5);
    CHECK(count_of("HTTP/1.1 429", answers) == 1);
    serves(server);
  }

  TEST_CASE("pings, answers to pings, and fragments that hold nothing count as messages do") {
    const RunningServer server;
    for (const std::string& frame : {frame_of(0x89, ""), frame_of(0x89, std::string(125, 'x')),
                                     frame_of(0x8a, ""), frame_of(0x00, "")}) {
      CAPTURE(static_cast<int>(static_cast<unsigned char>(frame[0])));
      Raw hostile{server};
      hostile.say(upgrade_request(server, ""));
      CHECK(hostile.head().starts_with("HTTP/1.1 101"));
      if (frame[0] == 0) hostile.say(frame_of(0x01, ""));  // a text begins, and goes on and on
      std::string many;
      for (int i = 0; i < 1'000; ++i) many += frame;
      hostile.say(many);
      const std::string heard = hostile.rest();
      CHECK(hostile.closed());
      CHECK(heard.find("Too many messages.") != std::string::npos);
    }
    // Few of them are fine.
    Raw quiet{server};
    quiet.say(upgrade_request(server, ""));
    quiet.head();
    for (int i = 0; i < 20; ++i) quiet.say(frame_of(0x89, "still there?"));
    quiet.say(frame_of(0x01, R"({"do":"sa)") + frame_of(0x00, "") + frame_of(0x89, "") +
              frame_of(0x80, R"(ve"})"));
    quiet.say(frame_of(0x88, ""));
    CHECK(quiet.rest().find(R"("type":"saved")") != std::string::npos);
    serves(server);
  }

  TEST_CASE("a message that never ends, and a line on which nothing comes, are closed in time") {
    Bounds bounds;
    bounds.time_for_a_message = 1s;
    const RunningServer server{bounds};
    for (const std::string& begun :
         {frame_of(0x01, R"({"do":)"), std::string{"\x81"}, frame_of(0x81, "{}").substr(0, 7)}) {
      Raw slow{server};
      slow.say(upgrade_request(server, ""));
      slow.head();
      slow.say(begun);
      CHECK(slow.rest().find("That message never ends.") != std::string::npos);
      CHECK(slow.closed());
    }
    bounds.longest_silence = 1s;
    const RunningServer impatient{bounds};
    Raw silent{impatient};
    silent.say(upgrade_request(impatient, ""));
    silent.rest();  // and not a word, not even the answer to its ping
    CHECK(silent.closed());
    serves(impatient);
  }

  TEST_CASE("frames are counted however they arrive") {
    std::string bytes;
    for (const std::size_t size :
         {std::size_t{0}, std::size_t{1}, std::size_t{125}, std::size_t{126}, std::size_t{70'000}}) {
      bytes += frame_of(0x81, std::string(size, 'x'));
    }
    bytes += frame_of(0x01, "a") + frame_of(0x89, "b") + frame_of(0x80, "");
    const std::span<const unsigned char> all{reinterpret_cast<const unsigned char*>(bytes.data()),
                                             bytes.size()};
    for (const std::size_t part : {std::size_t{1}, std::size_t{3}, std::size_t{1000}, bytes.size()}) {
      FrameWatch watch;
      FrameWatch::Passed sum;
      for (std::size_t at = 0; at < all.size(); at += part) {
        const FrameWatch::Passed passed = watch.take(all.subspan(at, std::min(part, all.size() - at)));
        sum.frames_begun += passed.frames_begun;
        sum.messages_ended += passed.messages_ended;
        if (at + part < all.size() && part == 1 && at == 0) CHECK(watch.unfinished());
      }
      CHECK(sum.frames_begun == 8);
      CHECK(sum.messages_ended == 6);
      CHECK_FALSE(watch.unfinished());
    }
  }

  TEST_CASE("too many connections are turned away until others have gone") {
    Bounds bounds;
    bounds.most_connections = 8;
    const RunningServer server{bounds};
    std::vector<std::unique_ptr<Raw>> many;
    for (std::size_t i = 0; i < bounds.most_connections; ++i) many.push_back(std::make_unique<Raw>(server));
    Raw one_more{server};
    CHECK(one_more.rest().empty());
    for (const auto& each : many) each->close();
    many.clear();
    // The server hears of their going in its own time.
    unsigned status = 0;
    for (int i = 0; i < 24'000 && status != 200; ++i) {
      status = status_of(server, "/", server.host());
      if (status != 200) std::this_thread::sleep_for(10ms);
    }
    CHECK(status == 200);
  }

  TEST_CASE("too many viewers are told to come later") {
    Bounds bounds;
    bounds.most_viewers = 2;
    const RunningServer server{bounds};
    Viewer first{server};
    Viewer second{server};
    first.hear("hello");
    second.hear("hello");
    Viewer third{server};
    CHECK(third.code_of_close() == beast::websocket::close_code::try_again_later);
  }

  TEST_CASE(
      "a reader who falls behind gets the whole state instead of the news missed, and holds up nobody") {
    Bounds bounds;
    bounds.most_waiting_bytes = 100'000;
    bounds.work_at_once = bounds.messages_at_once = 1e9;
    const RunningServer server{bounds};
    Viewer holder{server};
    holder.hear("viewers");
    Viewer slow{server, "", 4096};
    // Far more than what fits into the buffers between here and there.
    constexpr int jumps = 1'500;
    for (int i = 1; i <= jumps; ++i) {
      holder.say(fmt::format(R"({{"do":"seek","at_s":{},"ref":1}})", i));
      REQUIRE_FALSE(holder.hear("done").empty());
    }
    int states = 0;
    double now = 0;
    while (now != jumps) {
      const json::object state = slow.hear("state");
      REQUIRE_FALSE(state.empty());
      now = state.at("clock").at("now_s").to_number<double>();
      ++states;
    }
    CHECK(states < jumps);
    holder.say(R"({"do":"speed","speed":3,"ref":2})");
    CHECK(slow.hear("changed").at("clock").at("speed").to_number<double>() == 3.0);
  }

  TEST_CASE("a port that is taken is said to be, and Ctrl-C ends the panel in good order") {
    const RunningServer server;
    const Ran taken =
        drybus_program(fmt::format("panel scenarios/training/setup-split.yaml --port {}", server.port()));
    CHECK(taken.exit_code == 2);
    CHECK(taken.err.find(fmt::format("port {} is taken already", server.port())) != std::string::npos);
    CHECK(taken.out.empty());
    const Ran ended = interrupted("panel scenarios/training/setup-split.yaml --port 0");
    CHECK(ended.exit_code == 0);
    CHECK(ended.out.find("the panel is at http://127.0.0.1:") != std::string::npos);
    CHECK(ended.err == "");
  }

  TEST_CASE("other machines are let in only when asked for, with a warning and a join link") {
    const Ran let_in = interrupted("panel scenarios/training/setup-split.yaml --port 0 --listen 0.0.0.0");
    CHECK(let_in.exit_code == 0);
    CHECK(let_in.err.find("can be reached from other machines") != std::string::npos);
    CHECK(let_in.out.find("/?join=") != std::string::npos);
    const Ran nowhere = drybus_program("panel scenarios/training/setup-split.yaml --listen elsewhere");
    CHECK(nowhere.exit_code == 2);
    CHECK(nowhere.err.find("'elsewhere' is no address") != std::string::npos);
    CHECK(drybus_program("panel scenarios/training/setup-split.yaml --port 70000").exit_code == 2);
    CHECK(drybus_program("panel no-such.yaml").exit_code == 2);
  }
}
