// The panel's log: what it says, what it never says, and which files it leaves alone.
#include <doctest/doctest.h>
#include <fmt/format.h>
#include <sys/stat.h>

#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/websocket.hpp>
#include <boost/json.hpp>
#include <filesystem>
#include <sstream>

#include "tests/support/files.h"
#include "tests/support/panel_server.h"
#include "tests/support/program.h"
#include "tools/base/unusable.h"
#include "tools/log/log.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

namespace fs = std::filesystem;
namespace beast = boost::beast;

const std::string scenario = "scenarios/training/setup-split.yaml";

/// Runs the program until it says that it is ready, and then presses Ctrl-C.
Ran interrupted(const std::string& arguments) {
  return shell(
      "d=$(mktemp -d); '" DRYBUS_PROGRAM "' " + arguments +
      " >$d/out 2>$d/err & p=$!; "
      "for i in $(seq 12000); do grep -qs Ctrl-C $d/out && break; kill -0 $p || break; sleep 0.02; done; "
      "kill -INT $p; wait $p; code=$?; cat $d/out; cat $d/err >&2; rm -r $d; exit $code");
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in{text};
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

bool cannot_log(const fs::path& file, const std::vector<fs::path>& never = {}) {
  try {
    const Log log{{file, LogLevel::info, never}};
    return false;
  } catch (const Unusable&) {
    return true;
  }
}

/// The greeting of a viewer whose request has this cookie; the line stays open as long as the socket.
boost::json::object greeting(beast::websocket::stream<boost::asio::ip::tcp::socket>& socket,
                             const std::string& host, const std::string& cookie, const std::string& target) {
  socket.set_option(beast::websocket::stream_base::decorator([&](beast::websocket::request_type& request) {
    request.set(beast::http::field::origin, "http://" + host);
    request.set(beast::http::field::cookie, cookie);
  }));
  socket.handshake(host, target);
  beast::flat_buffer buffer;
  socket.read(buffer);
  return boost::json::parse(beast::buffers_to_string(buffer.data())).as_object();
}

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("the log tells who came, who was refused and why, who saved; and no key to the panel") {
    const Folder folder;
    const std::string file = folder.file("panel.log");
    const std::string token = "0123456789abcdef0123456789abcdef";
    std::string seat;
    {
      const RunningServer server{{}, Log{{file, LogLevel::trace, {}}}, token};
      Raw joins{server};
      joins.say("GET /?join=" + token + " HTTP/1.1\r\nHost: " + server.host() +
                "\r\nConnection: close\r\n\r\n");
      CHECK(joins.rest().find(" 303 ") != std::string::npos);
      Raw guesses{server};
      guesses.say("GET /?join=fedcba9876543210 HTTP/1.1\r\nHost: " + server.host() +
                  "\r\nConnection: close\r\n\r\n");
      CHECK(guesses.rest().find(" 403 ") != std::string::npos);
      Raw long_head{server};
      long_head.say("GET / HTTP/1.1\r\nX: " + std::string(9'000, 'x') + "\r\n\r\n");
      long_head.rest();
      const std::string cookie = fmt::format("drybus_join_{}={}", server.port(), token);
      {
        Raw raw{server};
        beast::websocket::stream<boost::asio::ip::tcp::socket> viewer{raw.take()};
        seat = greeting(viewer, server.host(), cookie, "/socket").at("you").at("key").as_string().c_str();
        viewer.write(boost::asio::buffer(std::string{"{\"do\":\"sa\\u001b[31mve\"}"}));
        viewer.write(
            boost::asio::buffer(std::string{"{\"do\":\n\"\x1b[2J\r\n drybus panel 1 info: not so\"}"}));
        viewer.write(boost::asio::buffer(std::string{R"({"do":"save","ref":"end"})"}));
        for (std::string heard; heard.find("\"saved\"") == std::string::npos;) {
          beast::flat_buffer buffer;
          viewer.read(buffer);
          heard = beast::buffers_to_string(buffer.data());
        }
      }
      Raw raw{server};
      beast::websocket::stream<boost::asio::ip::tcp::socket> back{raw.take()};
      greeting(back, server.host(), cookie, "/socket?seat=" + seat);
    }
    const std::string log = content_of(file);
    CAPTURE(log);
    REQUIRE(seat.size() == 32);
    CHECK(log.find(token) == std::string::npos);
    CHECK(log.find("fedcba9876543210") == std::string::npos);
    CHECK(log.find(seat) == std::string::npos);
    for (const std::string told :
         {"listening on 127.0.0.1 port ", ", for those who have the join link", " connected", "GET /: 303",
          "GET /: 403", "refused: 431", " is viewer 1", "viewer 1 (viewer 1) holds the controls",
          "viewer 1 is refused (message): ", "viewer 1 saves setup-split-1.yaml, digest ", "viewer 1 is gone",
          "viewer 1 is back", "the panel ends"}) {
      CAPTURE(told);
      CHECK(log.find(told) != std::string::npos);
    }
    for (const std::string& line : lines_of(log)) {
      CHECK_MESSAGE(line.starts_with("drybus panel 2"), line);
      CHECK(line.size() < 800);
      for (const char letter : line) CHECK((static_cast<unsigned char>(letter) >= 0x20 && letter != 0x7f));
    }
    struct stat made {};
    REQUIRE(::stat(file.c_str(), &made) == 0);
    CHECK((made.st_mode & 0077) == 0);
  }

  TEST_CASE("a level leaves out what is less, and a log that nobody asked for says nothing") {
    const Folder folder;
    const Log warnings{{folder.file("w"), LogLevel::error, {}}};
    CHECK_FALSE(warnings.says(LogLevel::warn));
    warnings.warn("not this");
    warnings.error("but this");
    CHECK(content_of(folder.file("w")).find("not this") == std::string::npos);
    CHECK(content_of(folder.file("w")).find(" error: but this\n") != std::string::npos);
    CHECK_FALSE(Log{}.says(LogLevel::critical));
    const Log off{{folder.file("o"), LogLevel::off, {}}};
    CHECK_FALSE(off.says(LogLevel::critical));
    for (const std::string& name : log_level_names()) CHECK(log_level_named(name));
    CHECK_FALSE(log_level_named("loud"));
  }

  TEST_CASE("a log is added to, and what is no log is left as it is") {
    const Folder folder;
    const std::string file = folder.file("panel.log");
    Log{{file, LogLevel::info, {}}}.info("the first");
    Log{{file, LogLevel::info, {}}}.info("the second");
    CHECK(lines_of(content_of(file)).size() == 2);
    folder.write("notes.txt", "my own notes\n");
    CHECK(cannot_log(folder.file("notes.txt")));
    CHECK(content_of(folder.file("notes.txt")) == "my own notes\n");
    // Names that a full log would be moved to count as well.
    folder.write("new.1.log", "mine\n");
    CHECK(cannot_log(folder.file("new.log")));
    CHECK(content_of(folder.file("new.1.log")) == "mine\n");
    CHECK(cannot_log(folder.file("no-such-folder/panel.log")));
    CHECK(cannot_log(folder.file(".")));
    REQUIRE(::mkfifo(folder.file("pipe").c_str(), 0600) == 0);
    CHECK(cannot_log(folder.file("pipe")));
    CHECK(cannot_log("/dev/full"));
    // The scenario by any of its names, also one that is empty.
    folder.write("s.yaml", "");
    fs::create_symlink("s.yaml", folder.file("other.log"));
    fs::create_hard_link(folder.file("s.yaml"), folder.file("hard.log"));
    for (const char* name : {"s.yaml", "other.log", "hard.log", "./s.yaml"}) {
      CHECK(cannot_log(folder.file(name), {folder.file("s.yaml")}));
    }
    CHECK(content_of(folder.file("s.yaml")).empty());
  }

  TEST_CASE("drybus panel --log: quiet on the terminal, and nothing but a log is written to") {
    const Folder folder;
    const std::string file = folder.file("panel.log");
    const Ran ran = interrupted("panel " + scenario + " --port 0 --log '" + file + "'");
    CHECK(ran.exit_code == 0);
    CHECK(ran.err == "");
    CHECK(content_of(file).find(" info: listening on 127.0.0.1 port ") != std::string::npos);
    const Ran chatty = interrupted("panel " + scenario + " --port 0 --log-level info");
    CHECK(chatty.exit_code == 0);
    CHECK(chatty.err.find(" info: listening on 127.0.0.1 port ") != std::string::npos);

    fs::copy_file(DRYBUS_SOURCE_DIR "/" + scenario, folder.file("mine.yaml"));
    const std::string before = content_of(folder.file("mine.yaml"));
    const std::string own = "DRYBUS_FAMILIES=" DRYBUS_SOURCE_DIR "/scenarios/families drybus panel '" +
                            folder.file("mine.yaml") + "' --port 0 --log ";
    const Ran itself = shell(own + "'" + folder.file("mine.yaml") + "'");
    CHECK(itself.exit_code == 2);
    CHECK(itself.err.find("the scenario is read from there") != std::string::npos);
    CHECK(content_of(folder.file("mine.yaml")) == before);
    CHECK(drybus_program("panel " + scenario + " --log ''").exit_code == 2);
    const Ran loud = drybus_program("panel " + scenario + " --log-level wran");
    CHECK(loud.exit_code == 2);
    CHECK(loud.err.find("Did you mean 'warn'?") != std::string::npos);
  }
}
