// Who may come in at the panel's door.
#include "tools/panel/gate.h"

#include <doctest/doctest.h>

#include <set>

#include "tools/panel/allowance.h"
#include "tools/panel/http_connection.h"

namespace {

using namespace drybus::tools;
using namespace std::chrono_literals;

namespace http = boost::beast::http;

HttpRequest get(const std::string& target, const std::string& host = "127.0.0.1:8471") {
  HttpRequest request{http::verb::get, target, 11};
  if (!host.empty()) request.set(http::field::host, host);
  return request;
}

HttpRequest upgrade(const std::string& origin, const std::string& host = "127.0.0.1:8471") {
  HttpRequest request = get("/socket", host);
  request.set(http::field::connection, "Upgrade");
  request.set(http::field::upgrade, "websocket");
  request.set(http::field::sec_websocket_version, "13");
  request.set(http::field::sec_websocket_key, "dGhlIHNhbXBsZSBub25jZQ==");  // RFC 6455, 1.3
  if (!origin.empty()) request.set(http::field::origin, origin);
  return request;
}

const Gate gate{8471};
const Gate locked{8471, "0123456789abcdef"};

unsigned status(const HttpRequest& request, const Gate& at = gate) {
  return answer_to(request, at, "127.0.0.1").result_int();
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("the panel answers to its own address and to localhost, and to no other name") {
    for (const char* host : {"127.0.0.1:8471", "localhost:8471", "LocalHost:8471"})
      CHECK(status(get("/", host)) == 200);
    for (const char* host :
         {"evil.example", "evil.example:8471", "127.0.0.1", "127.0.0.1:80", "127.0.0.2:8471",
          "127.0.0.1:8471.evil.example", "localhost.evil.example:8471", "", "[::1]:8471"}) {
      CAPTURE(host);
      CHECK(status(get("/", host)) == 421);
    }
    CHECK(gate.host_is_ours("[::1]:8471", "::1"));
    CHECK(gate.host_is_ours("192.168.1.20:8471", "192.168.1.20"));
    CHECK_FALSE(gate.host_is_ours("localhost:8471", "192.168.1.20"));
    CHECK(Gate{80}.host_is_ours("127.0.0.1", "127.0.0.1"));
  }

  TEST_CASE("a page of another site gets neither a file nor the socket") {
    HttpRequest foreign = get("/");
    foreign.set(http::field::origin, "http://evil.example");
    CHECK(status(foreign) == 403);
    CHECK(may_open_line(upgrade("http://127.0.0.1:8471"), gate, "127.0.0.1"));
    for (const char* origin : {"http://evil.example", "https://127.0.0.1:8471", "http://127.0.0.1:8472",
                               "null", "http://127.0.0.1:8471.evil.example", "http://localhost:8471", ""}) {
      CAPTURE(origin);
      CHECK_FALSE(may_open_line(upgrade(origin), gate, "127.0.0.1"));
    }
    CHECK_FALSE(may_open_line(upgrade("http://evil.example", "evil.example"), gate, "127.0.0.1"));
    CHECK_FALSE(may_open_line(get("/socket"), gate, "127.0.0.1"));
  }

  TEST_CASE("with a token only those come in who have the join link") {
    CHECK(status(get("/"), locked) == 403);
    CHECK(status(get("/panel.css"), locked) == 403);
    CHECK(status(get("/?join=0123456789abcdee"), locked) == 403);
    CHECK(status(get("/?join="), locked) == 403);
    const HttpResponse joined = answer_to(get(locked.link_target(Role::pupil)), locked, "127.0.0.1");
    CHECK(joined.result_int() == 303);
    const std::string cookie{joined[http::field::set_cookie]};
    CHECK(cookie.find("HttpOnly") != std::string::npos);
    HttpRequest request = get("/");
    request.set(http::field::cookie, "other=1; " + cookie.substr(0, cookie.find(';')) + "; more=2");
    CHECK(status(request, locked) == 200);
    HttpRequest socket = upgrade("http://127.0.0.1:8471");
    CHECK_FALSE(may_open_line(socket, locked, "127.0.0.1"));
    socket.set(http::field::cookie, locked.cookie_name() + "=0123456789abcdef");
    CHECK(may_open_line(socket, locked, "127.0.0.1"));
    CHECK(status(get("/?join="), gate) == 404);
  }

  TEST_CASE("the link by which somebody comes says what they are there for") {
    const Gate led{8471, "0123456789abcdef", "aaaaaaaaaaaaaaaa", "bbbbbbbbbbbbbbbb"};
    for (const Role role : {Role::trainer, Role::pupil, Role::onlooker}) {
      CHECK(led.role_of_link(led.link_target(role)) == role);
      const HttpResponse joined = answer_to(get(led.link_target(role)), led, "127.0.0.1");
      CHECK(joined.result_int() == 303);
      const std::string cookie{joined[http::field::set_cookie]};
      CHECK(led.role_of(cookie.substr(0, cookie.find(';'))) == role);
    }
    CHECK_FALSE(led.role_of_link("/?lead=0123456789abcdef"));  // the pupils' token leads nobody
    CHECK_FALSE(led.role_of(led.cookie_name() + "=0123456789abcdee"));
    CHECK_FALSE(led.role_of(""));
    const Gate without_onlookers{8471, "0123456789abcdef"};
    CHECK_FALSE(without_onlookers.role_of_link("/?watch="));
    CHECK_FALSE(without_onlookers.role_of(without_onlookers.cookie_name() + "="));
  }

  TEST_CASE("every answer tells the browser to take nothing from elsewhere") {
    for (const char* target : {"/", "/no-such-page", "/../DEVELOPERS.md", "/socket"}) {
      const HttpResponse response = answer_to(get(target), gate, "127.0.0.1");
      const std::string policy{response["Content-Security-Policy"]};
      CHECK(policy.starts_with("default-src 'self';"));
      CHECK(policy.find("frame-ancestors 'none'") != std::string::npos);
      CHECK(policy.find("unsafe") == std::string::npos);
      CHECK(response["X-Content-Type-Options"] == "nosniff");
      CHECK(response[http::field::cache_control] == "no-store");
    }
    CHECK(status(get("/../DEVELOPERS.md")) == 404);
    CHECK(status(get("/socket")) == 426);
    HttpRequest post = get("/");
    post.method(http::verb::post);
    CHECK(status(post) == 405);
    HttpRequest head = get("/");
    head.method(http::verb::head);
    const HttpResponse only_head = answer_to(head, gate, "127.0.0.1");
    CHECK(only_head.result_int() == 200);
    CHECK(only_head.body().empty());
    CHECK(std::stoul(std::string{only_head[http::field::content_length]}) > 0);
  }

  TEST_CASE("tokens are long and never the same") {
    std::set<std::string> seen;
    for (int i = 0; i < 100; ++i) {
      const std::string token = random_token();
      CHECK(token.size() == 32);
      CHECK(token.find_first_not_of("0123456789abcdef") == std::string::npos);
      seen.insert(token);
    }
    CHECK(seen.size() == 100);
    CHECK(equal_in_constant_time("abc", "abc"));
    CHECK_FALSE(equal_in_constant_time("abc", "abd"));
    CHECK_FALSE(equal_in_constant_time("abc", "abcd"));
  }

  TEST_CASE("an allowance gives so much at once, and then so much a second") {
    Allowance allowance{200, 50};
    for (int i = 0; i < 200; ++i) CHECK(allowance.take(1, 0s));
    CHECK_FALSE(allowance.take(1, 0s));
    CHECK_FALSE(allowance.take(1, 19ms));
    CHECK(allowance.take(1, 20ms));
    CHECK_FALSE(allowance.take(1, 20ms));
    int taken = 0;
    while (allowance.take(1, 1020ms)) ++taken;
    CHECK(taken == 50);
    allowance.spend(100);
    CHECK_FALSE(allowance.any_left(3s));
    CHECK(allowance.any_left(10s));
    taken = 0;
    while (allowance.take(1, 1h)) ++taken;
    CHECK(taken == 200);
  }
}
