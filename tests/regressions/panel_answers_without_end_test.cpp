// One request with a head of 9,000 letters, or a POST with a body, was answered 30,000 times a second for as long as the
// other side read, from whoever could reach the port.
#include <doctest/doctest.h>

#include "tests/support/panel_server.h"

namespace {

using namespace drybus;
using namespace drybus::tests;

/// What one connection is answered that says this and then only listens; bounded, however wrong it goes.
void is_answered_once(const RunningServer& server, const std::string& request, const std::string& status) {
  CAPTURE(request.substr(0, 60));
  Raw raw{server};
  raw.say(request);
  const std::string answer = raw.rest(100'000);
  CHECK(count_of("HTTP/1.1 ", answer) == 1);
  CHECK_MESSAGE(answer.starts_with("HTTP/1.1 " + status), answer.substr(0, 40));
  CHECK(answer.find("Connection: close\r\n") != std::string::npos);
  CHECK(raw.closed());
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("a head that is too long is answered once, with a token or without") {
    for (const std::string token : {"", "0123456789abcdef0123456789abcdef"}) {
      const RunningServer server{{}, {}, token};
      is_answered_once(server, "GET /" + std::string(9'000, 'x') + " HTTP/1.1\r\nHost: x\r\n\r\n", "431");
      is_answered_once(server, "GET / HTTP/1.1\r\nX: " + std::string(9'000, 'x'), "431");
      is_answered_once(server, "GET / HTTP/1.1\r\nX: " + std::string(200'000, 'x'), "431");
    }
  }

  TEST_CASE("a body is answered once, whatever its length") {
    const RunningServer server;
    const std::string begin = "POST / HTTP/1.1\r\nHost: " + server.host() + "\r\n";
    is_answered_once(server, begin + "Content-Length: 2000\r\n\r\n" + std::string(2'000, 'x'), "413");
    is_answered_once(server, begin + "Content-Length: 5\r\n\r\nhello", "413");
    is_answered_once(server, begin + "Content-Length: 99999999999\r\n\r\n", "413");
    is_answered_once(server, begin + "Content-Length: many\r\n\r\n", "400");
    is_answered_once(server, begin + "Transfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n0\r\n\r\n", "413");
    is_answered_once(server, "GET / HTTP/1.1\r\nHost: " + server.host() + "\r\nContent-Length: 3\r\n\r\nabc",
                     "413");
    is_answered_once(server, begin + "\r\n", "405");
    is_answered_once(server, "\x16\x03\x01 this is no HTTP\r\n\r\n", "400");
  }
}
