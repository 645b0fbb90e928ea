// The curtain hid things in one browser's picture only: all of the truth was sent to every viewer, lamps that nobody
// looked at stayed lit, "next time-out" counted on, a page that was loaded anew had it open, and a trainer who loaded
// the page anew lost the controls to the first of the class.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <set>

#include "tests/support/panel_bench.h"
#include "tools/base/json_text.h"
#include "tools/panel/panel.h"
#include "tools/panel/state_json.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

namespace json = boost::json;

/// What may never be told while the curtain is drawn.
void is_curtained(const json::object& message) {
  const std::string text = json::serialize(message);
  CAPTURE(text);
  for (const char* truth : {R"("mode")", R"("ends_s")", R"("blips_awake")", R"("deaf_for")", R"("power_up")",
                            R"("kind":"lost")", R"("kind":"stored")", R"("kind":"misread")",
                            R"("kind":"link")", R"("remedy")", R"("setup-split")", R"("state":"open")"}) {
    CAPTURE(truth);
    CHECK(text.find(truth) == std::string::npos);
  }
  if (const json::value* clock = message.if_contains("clock")) {
    CHECK(clock->at("next_time_out").is_null());
    CHECK(clock->at("next_event_s").is_null());
  }
  if (const json::value* telegrams = message.if_contains("telegrams")) CHECK(telegrams->as_array().empty());
  if (const json::value* findings = message.if_contains("findings")) CHECK(findings->as_array().empty());
}

struct Class {
  Panel panel{shipped("training/setup-split.yaml")};
  RealTime real{};
  ViewerId trainer = panel.join(real);
  ViewerId student = panel.join(real);
  json::object state;  ///< as a page of the class holds it

  Class() { hear(); }

  void say(const std::string& message) {
    CHECK(panel.receive(trainer, message, real));
    hear();
  }
  void wait(RealTime time) {
    for (const RealTime end = real + time; real < end; real += 20ms) {
      panel.at_real(real);
      hear();
    }
  }
  std::vector<json::object> hear() {
    std::vector<json::object> heard;
    for (const Letter& letter : panel.take_letters()) {
      heard.push_back(json::parse(*letter.text).as_object());
      if (letter.to && *letter.to != student) continue;
      if (heard.back().at("type").as_string() == "state") state = heard.back();
      if (heard.back().at("type").as_string() == "changed") merge(heard.back());
    }
    if (panel.room().curtain() == Curtain::drawn) {
      for (const json::object& each : heard) is_curtained(each);
    }
    return heard;
  }
  void merge(const json::object& changed) {
    for (const char* key : {"clock", "people", "findings", "branches", "pause"}) {
      if (changed.contains(key)) state[key] = changed.at(key);
    }
    for (const char* key : {"devices", "links"}) {
      if (!changed.contains(key)) continue;
      for (const auto& [name, value] : changed.at(key).as_object()) state[key].as_object()[name] = value;
    }
  }
  [[nodiscard]] json::value lamp(const std::string& device) const {
    return state.at("devices").at(device).at("indicator");
  }
};

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("what is behind the curtain is not sent, from the first message to the last") {
    Class all;
    all.say(R"({"do":"link","link":"M2-M1","state":"open"})");
    all.say(R"({"do":"link","link":"M2-M1","state":"sound"})");
    all.say(R"({"do":"curtain","drawn":true})");
    all.say(R"({"do":"speed","speed":10})");
    all.say(R"({"do":"demo","pause_at":["finding"]})");
    std::set<std::string> seen;
    for (int i = 0; i < 2'000 && all.state.at("pause").is_null(); ++i) {
      all.wait(20ms);
      for (const char* device : {"P1", "M1", "M2"}) {
        const json::value lamp = all.lamp(device);
        const std::string place = device == std::string{"M1"} ? "cold store" : "shop";
        const json::value& stands = all.state.at("people").at(0).at("place");
        const bool looked_at = stands.is_string() && stands.as_string() == place.c_str();
        CHECK(lamp.is_null() != looked_at);
        if (looked_at) seen.insert(std::string{device} + " " + lamp.at("pattern").as_string().c_str());
      }
    }
    REQUIRE_FALSE(all.state.at("pause").is_null());  // it has stopped for the finding, and says no more
    CHECK(seen.count("P1 blink") == 1);
    CHECK(seen.count("M1 blink") == 1);
    all.panel.receive(all.student, R"({"do":"view","branch":1,"at_s":0,"ref":1})", all.real);
    all.panel.receive(all.student, R"({"do":"state","ref":2})", all.real);
    all.panel.receive(all.student, R"({"do":"save","ref":3})", all.real);
    const auto heard = all.hear();
    REQUIRE(heard.size() == 4);
    CHECK(heard[0].at("type").as_string() == "branch_view");
    CHECK(heard[3].at("code").as_string() == "controls");
    all.panel.join(all.real);
    CHECK(all.hear().front().at("scenario").at("about").as_string().empty());

    // A page that merged what it heard holds what a new one is told.
    const json::object whole =
        json::parse(json_text(state_json(all.panel.bench(), Curtain::drawn))).as_object();
    for (const char* key : {"clock", "devices", "people", "links", "findings", "pause", "branches"}) {
      CAPTURE(key);
      if (std::string{key} == "branches") continue;  // they hold how far time has come
      CHECK(json::serialize(all.state.at(key)) == json::serialize(whole.at(key)));
    }
    all.say(R"({"do":"curtain","drawn":false})");
    CHECK(all.state.at("devices").at("P1").at("hidden").at("mode").is_string());
    CHECK_FALSE(all.lamp("P1").is_null());
    CHECK_FALSE(all.lamp("M1").is_null());
  }

  TEST_CASE("while nothing can be seen to happen, nothing is sent that tells of what is hidden") {
    Class all;
    all.say(R"({"do":"curtain","drawn":true})");
    all.say(R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})");
    all.say(R"({"do":"walk","place":"cold store"})");
    all.say(R"({"do":"play"})");
    all.wait(8s);  // the plate sends its beacon every 5 s, which nobody can see from the yard
    std::size_t news = 0;
    for (const RealTime end = all.real + 60s; all.real < end; all.real += 20ms) {
      all.panel.at_real(all.real);
      for (const json::object& message : all.hear()) {
        if (message.at("type").as_string() != "changed") continue;
        ++news;
        CHECK(message.size() == 2);  // its type and the clock
      }
    }
    CHECK(news <= 61);
  }

  TEST_CASE(
      "the curtain is the room's: who holds the controls moves it, and it stays when everybody is gone") {
    Class all;
    all.say(R"({"do":"curtain","drawn":true})");
    all.panel.receive(all.student, R"({"do":"curtain","drawn":false,"ref":1})", all.real);
    CHECK(all.hear().back().at("code").as_string() == "controls");
    CHECK(all.panel.room().curtain() == Curtain::drawn);
    all.panel.leave(all.trainer, all.real);
    all.panel.leave(all.student, all.real);
    all.wait(20s);
    CHECK(all.panel.room().viewers().empty());
    const ViewerId later = all.panel.join(all.real);
    all.panel.receive(later, R"({"do":"state"})", all.real);
    CHECK(all.panel.room().curtain() == Curtain::drawn);
    CHECK(all.hear()[1].at("curtain_drawn").as_bool());
  }

  TEST_CASE(
      "who loads the page anew has their seat, name and controls again; nobody else gets them by a key") {
    Panel panel{shipped("training/setup-split.yaml")};
    RealTime real{};
    const auto key_of = [&](ViewerId id) {
      for (const Letter& letter : panel.take_letters()) {
        const json::object message = json::parse(*letter.text).as_object();
        if (letter.to == id && message.at("type").as_string() == "hello")
          return std::string{message.at("you").at("key").as_string().c_str()};
      }
      return std::string{};
    };
    const ViewerId trainer = panel.join(real);
    const std::string first_key = key_of(trainer);
    CHECK(first_key.size() == 32);
    panel.receive(trainer, R"({"do":"name","name":"Ann"})", real);
    const ViewerId student = panel.join(real);
    panel.leave(trainer, real);
    CHECK(panel.room().holds(trainer));
    CHECK(panel.join(real + 1s, {"0123456789abcdef0123456789abcdef"}) != trainer);
    CHECK(panel.join(real + 1s, {""}) != trainer);
    (void)panel.take_letters();
    CHECK(panel.join(real + 2s, {first_key}) == trainer);
    const std::string second_key = key_of(trainer);
    CHECK(second_key != first_key);
    CHECK(panel.room().holds(trainer));
    CHECK(panel.room().viewer(trainer).name == "Ann");
    CHECK(panel.join(real + 3s, {first_key}) != trainer);  // a key opens once
    panel.leave(trainer, real + 3s);
    panel.at_real(real + 12s);
    CHECK(panel.room().holds(trainer));
    panel.at_real(real + 13s);
    CHECK(panel.room().holds(student));
    CHECK(panel.join(real + 14s, {second_key}) != trainer);
  }

  TEST_CASE("seats of those who come and go all the time are not kept without end") {
    Panel panel{shipped("training/setup-split.yaml")};
    const ViewerId trainer = panel.join(0s);
    panel.leave(trainer, 0s);
    for (int i = 0; i < 500; ++i) panel.leave(panel.join(1s), 1s);
    CHECK(panel.room().viewers().size() <= most_empty_seats + 1);
    CHECK(panel.room().holds(trainer));
  }
}
