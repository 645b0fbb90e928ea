// What the page gets to hear, and what is done about what it says.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <boost/json.hpp>

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

struct Heard {
  std::optional<ViewerId> to;
  json::object message;

  [[nodiscard]] std::string type() const { return message.at("type").as_string().c_str(); }
};

std::vector<Heard> heard(Panel& panel) {
  std::vector<Heard> all;
  for (const Letter& letter : panel.take_letters())
    all.push_back({letter.to, json::parse(*letter.text).as_object()});
  return all;
}

std::vector<std::string> types(const std::vector<Heard>& all) {
  std::vector<std::string> names;
  names.reserve(all.size());
  for (const Heard& each : all) names.push_back(each.type());
  return names;
}

/// A page that only keeps what it was told, as PROTOCOL.md says it should.
class Page {
 public:
  void take(const Heard& heard) {
    const json::object& message = heard.message;
    if (heard.type() == "state") state = message;
    if (heard.type() != "changed") return;
    for (const auto* key : {"clock", "people", "findings", "branches", "pause"}) {
      if (message.contains(key)) state[key] = message.at(key);
    }
    for (const auto* key : {"devices", "links"}) {
      if (!message.contains(key)) continue;
      for (const auto& [name, value] : message.at(key).as_object()) state[key].as_object()[name] = value;
    }
    for (const auto* key : {"timeline", "telegrams"}) {
      if (message.contains(key)) merge(state[key].as_array(), message.at(key).as_array());
    }
  }

  json::object state;

 private:
  static void merge(json::array& known, const json::array& come) {
    for (const json::value& item : come) {
      const auto same = std::find_if(known.begin(), known.end(), [&](const json::value& each) {
        return each.at("entry") == item.at("entry");
      });
      if (same == known.end()) {
        known.push_back(item);
      } else {
        *same = item;
      }
    }
  }
};

}  // namespace

TEST_SUITE("panel") {
  TEST_CASE("whoever comes is greeted with the site, the state and who is there") {
    Panel panel{shipped("training/setup-split.yaml")};
    const ViewerId first = panel.join(0s);
    const auto all = heard(panel);
    CHECK(types(all) == std::vector<std::string>{"hello", "state", "viewers"});
    const json::object& hello = all[0].message;
    CHECK(hello.at("you").at("id").to_number<ViewerId>() == first);
    CHECK(hello.at("scenario").at("title").as_string() == "A delivery at the back door");
    CHECK(hello.at("families").as_array()[0].at("plate").at("buttons").as_array().size() == 7);
    CHECK(hello.at("families").as_array()[0].at("plate").at("buttons").as_array()[1] ==
          json::value{{"name", "up"}, {"press", "on"}, {"hold", "raise"}, {"setup", "next"}});
    CHECK(hello.at("families").as_array()[0].at("plate").at("setup_gesture").at("text").as_string() ==
          "hold set for 2.5 s");
    CHECK(hello.at("walks").as_array()[0].at("takes_s").to_number<double>() == 70.0);
    CHECK(hello.at("links").as_array().size() == 2);
    CHECK(all[1].message.at("devices").at("M2").at("hidden").at("address").as_string() == "23/4/2");
    CHECK(all[1].message.at("devices").at("M1").at("hidden").at("address").is_null());
    CHECK(all[1].message.at("viewers").at("you_hold").as_bool());
    panel.join(1s);
    const auto later = heard(panel);
    CHECK_FALSE(later.back().message.at("you_hold").as_bool());
  }

  TEST_CASE(
      "each device is greeted with its own family's buttons, and one without a button with what puts it in "
      "setup") {
    const Bench mixed{shipped("training/newer-module.yaml")};
    const json::object hello = hello_json(mixed);
    const json::array& families = hello.at("families").as_array();
    REQUIRE(families.size() == 2);
    CHECK(families[0].at("name").as_string() == "wired-keypad");
    CHECK(families[1].at("module").at("button").as_string() == "tap");
    CHECK(hello.at("modules").as_array()[0].at("family").as_string() == "wired-keypad");
    CHECK(hello.at("modules").as_array()[1].at("family").as_string() == "confirming-modules");
    const Bench counting{shipped("training/supply-counted-out.yaml")};
    const json::value module = hello_json(counting).at("families").as_array()[0].at("module");
    CHECK(module.at("button").is_null());
    CHECK(module.at("setup_gesture").at("buttons").as_array().empty());
    CHECK(module.at("setup_gesture").at("text").as_string() ==
          "off and on 3 times, each on for less than 3 s");
  }

  TEST_CASE("no pattern is lit more than three times a second, not even at its own speed") {
    const Bench bench{shipped("training/setup-split.yaml")};
    const json::object hello = hello_json(bench);
    for (const auto& [name, rhythm] : hello.at("families").as_array()[0].at("patterns").as_object()) {
      const std::string pattern{name};
      CAPTURE(pattern);
      const double period = rhythm.at("lit_s").to_number<double>() + rhythm.at("dark_s").to_number<double>();
      const bool still =
          rhythm.at("lit_s").to_number<double>() == 0 || rhythm.at("dark_s").to_number<double>() == 0;
      CHECK((still || period >= 1.0 / 3));  // WCAG 2.2, success criterion 2.3.1
    }
  }

  TEST_CASE("a page that merges what changed holds what a new state would say") {
    for (const std::string path : {"training/setup-split.yaml", "training/same-number-next-door.yaml",
                                   "training/out-of-reach.yaml", "regression/two-things-at-once.yaml"}) {
      CAPTURE(path);
      Panel panel{shipped(path)};
      Page page;
      RealTime real{};
      const ViewerId me = panel.join(real);
      const auto listen = [&] {
        for (const Heard& each : heard(panel)) page.take(each);
      };
      const auto say = [&](const std::string& message) {
        panel.receive(me, message, real);
        listen();
      };
      listen();
      const model::Site& site = panel.bench().loaded().scenario.site;
      const std::string gesture = site.family.name == "wired-keypad" ? R"(["set"])" : R"(["mark","scene"])";
      say(R"({"do":"play"})");
      say(fmt::format(R"({{"do":"press","device":"P1","buttons":{}}})", gesture));
      for (int i = 0; i < 400; ++i) {
        real += 16ms;
        panel.at_real(real);
        listen();
      }
      say(R"({"do":"release"})");
      say(fmt::format(R"({{"do":"press_for","device":"M1","buttons":["{}"],"for_s":6.5}})",
                      site.family.module.button));
      say(R"({"do":"link","link":")" + site.link_name(0) + R"(","state":"open"})");
      for (const double speed : {1.0, 20.0, 10'000.0}) {
        say(fmt::format(R"({{"do":"speed","speed":{}}})", speed));
        for (int i = 0; i < 100; ++i) {
          real += 16ms;
          panel.at_real(real);
          listen();
        }
      }
      say(R"({"do":"pause"})");
      const json::object whole = json::parse(json_text(state_json(panel.bench()))).as_object();
      for (const auto* key : {"clock", "devices", "people", "links", "findings", "pause"}) {
        CAPTURE(key);
        CHECK(json::serialize(page.state.at(key)) == json::serialize(whole.at(key)));
      }
      // The page may hold more of what is long over; what the state tells must be there alike.
      for (const auto* key : {"timeline", "telegrams"}) {
        for (const json::value& item : whole.at(key).as_array()) {
          const auto& known = page.state.at(key).as_array();
          const auto same = std::find_if(known.begin(), known.end(), [&](const json::value& each) {
            return each.at("entry") == item.at("entry");
          });
          REQUIRE(same != known.end());
          CHECK(json::serialize(*same) == json::serialize(item));
        }
      }
    }
  }

  TEST_CASE("going back, and a branch, are told as a whole state to everybody") {
    Panel panel{shipped("training/setup-split.yaml")};
    const ViewerId first = panel.join(0s);
    const ViewerId second = panel.join(0s);
    panel.receive(first, R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})", 0s);
    (void)heard(panel);
    panel.receive(first, R"({"do":"seek","at_s":30,"ref":1})", 0s);
    const auto all = heard(panel);
    CHECK(types(all) == std::vector<std::string>{"state", "state", "done"});
    CHECK(all[0].to == first);
    CHECK(all[1].to == second);
    CHECK(all[0].message.at("viewers").at("you_hold").as_bool());
    CHECK_FALSE(all[1].message.at("viewers").at("you_hold").as_bool());
    CHECK(all[0].message.at("clock").at("next_time_out").at("device").as_string() == "P1");
    CHECK(all[0].message.at("devices").at("P1").at("hidden").at("setup").at("total_s").to_number<double>() ==
          240.0);
  }

  TEST_CASE("a telegram tells who heard it, who took it and who missed it") {
    Panel panel{shipped("training/shared-address.yaml")};
    const ViewerId me = panel.join(0s);
    panel.receive(me, R"({"do":"press_for","device":"P1","buttons":["set"],"for_s":2.7})", 0s);
    panel.receive(me, R"({"do":"press_for","device":"M1","buttons":["local"],"for_s":3.7})", 0s);
    panel.receive(me, R"({"do":"deaf","device":"M2","telegrams":200})", 0s);
    panel.receive(me, R"({"do":"press_for","device":"P1","buttons":["up"],"for_s":0.2})", 0s);
    panel.receive(me, R"({"do":"press_for","device":"P1","buttons":["accept"],"for_s":0.2})", 0s);
    panel.receive(me, R"({"do":"seek","at_s":12})", 0s);
    json::object assign;
    const json::object state = state_json(panel.bench());
    for (const json::value& telegram : state.at("telegrams").as_array()) {
      if (telegram.at("kind").as_string() == "assign") assign = telegram.as_object();
    }
    REQUIRE_FALSE(assign.empty());
    CHECK(assign.at("text").as_string() == "assign 23/3/1");
    CHECK(assign.at("heard") == json::value(json::array{"M1"}));
    CHECK(assign.at("took") == json::value(json::array{"M1"}));
    CHECK(assign.at("lost").as_array()[0].at("device").as_string() == "M2");
    CHECK_FALSE(assign.at("on_the_bus").as_bool());
  }

  TEST_CASE("who does not hold the controls is refused, but may look and save") {
    Panel panel{shipped("training/shared-address.yaml")};
    panel.join(0s);
    const ViewerId guest = panel.join(0s);
    (void)heard(panel);
    CHECK(panel.receive(guest, R"({"do":"play","ref":"x"})", 0s));
    auto all = heard(panel);
    REQUIRE(types(all) == std::vector<std::string>{"refused"});
    CHECK(all[0].message.at("code").as_string() == "controls");
    CHECK(all[0].message.at("ref").as_string() == "x");
    CHECK(all[0].to == guest);
    panel.receive(guest, R"({"do":"save","ref":2})", 0s);
    panel.receive(guest, R"({"do":"view","branch":1,"at_s":0,"ref":3})", 0s);
    panel.receive(guest, R"({"do":"state","ref":4})", 0s);
    CHECK(types(heard(panel)) == std::vector<std::string>{"saved", "branch_view", "state", "done"});
  }

  TEST_CASE("controls are asked for and given, kept by going on working, and lost by silence") {
    Panel panel{shipped("training/shared-address.yaml")};
    const ViewerId first = panel.join(0s);
    const ViewerId second = panel.join(0s);
    panel.receive(second, R"({"do":"ask_controls"})", 10s);
    panel.receive(first, R"({"do":"speed","speed":2})", 12s);
    panel.at_real(100s);
    CHECK(panel.room().holds(first));
    panel.receive(second, R"({"do":"ask_controls"})", 100s);
    CHECK(panel.room().answer_due() == 130s);
    panel.at_real(129s);
    CHECK(panel.room().holds(first));
    panel.at_real(130s);
    CHECK(panel.room().holds(second));
    panel.receive(second, fmt::format(R"({{"do":"give_controls","to":{}}})", first), 131s);
    CHECK(panel.room().holds(first));
    panel.receive(second, fmt::format(R"({{"do":"give_controls","to":{}}})", second), 131s);
    CHECK(panel.room().holds(first));
    panel.leave(first, 132s);
    panel.at_real(132s + time_to_come_back);
    CHECK(panel.room().holds(second));
    panel.leave(second, 150s);
    panel.at_real(150s + time_to_come_back);
    CHECK_FALSE(panel.room().holder());
  }

  TEST_CASE("a trainer leads, lends the controls to one pupil, and has them back") {
    Panel panel{shipped("training/shared-address.yaml"), {}, RoomKind::led};
    const auto refused = [&](ViewerId who, const std::string& message) {
      heard(panel);
      panel.receive(who, message, 5s);
      const auto all = heard(panel);
      return all.empty() || all.back().message.at("type") != "refused"
                 ? std::string{}
                 : std::string{all.back().message.at("why").as_string()};
    };
    const ViewerId pupil = panel.join(0s, {{}, Role::pupil});
    CHECK_FALSE(panel.room().holder());  // nobody leads yet, and a pupil who is early does not
    CHECK(refused(pupil, R"({"do":"play"})") == "That is the trainer's.");
    CHECK(refused(pupil, R"({"do":"ask_controls"})").empty());
    const ViewerId trainer = panel.join(1s, {{}, Role::trainer});
    const ViewerId onlooker = panel.join(1s, {{}, Role::onlooker});
    CHECK(panel.room().holds(trainer));
    CHECK(refused(onlooker, R"({"do":"ask_controls"})").starts_with("Onlookers cannot have the controls."));
    CHECK(refused(pupil, R"({"do":"press","device":"P1","buttons":["up"]})") ==
          "The controls are the trainer's. Ask for them.");
    CHECK(refused(pupil, R"({"do":"curtain","drawn":true})") == "The curtain is the trainer's.");
    panel.at_real(500s);  // a trainer takes their time
    CHECK(panel.room().holds(trainer));
    CHECK(refused(pupil, fmt::format(R"({{"do":"give_controls","to":{}}})", pupil))
              .starts_with("Only the trainer lends"));
    CHECK(refused(trainer, fmt::format(R"({{"do":"give_controls","to":{}}})", onlooker)).find("looks on") !=
          std::string::npos);
    CHECK(refused(trainer, fmt::format(R"({{"do":"give_controls","to":{}}})", pupil)).empty());
    CHECK(panel.room().holds(pupil));
    CHECK(refused(trainer, R"({"do":"speed","speed":50})").empty());
    CHECK_FALSE(panel.bench().playing());
    CHECK(refused(pupil, R"({"do":"press","device":"P1","buttons":["up"]})").empty());
    CHECK(panel.bench().playing());  // what they do sets the clock going, no faster than hands
    CHECK(panel.bench().speed() == 1);
    CHECK(refused(pupil, R"({"do":"pause"})") == "That is the trainer's.");
    CHECK(refused(trainer, R"({"do":"press","device":"P1","buttons":["up"]})").find("Take them back first") !=
          std::string::npos);
    CHECK(refused(trainer, R"({"do":"ask_controls"})").empty());  // takes them back at once, finger and all
    CHECK(panel.room().holds(trainer));
    CHECK_FALSE(panel.bench().holding());
    CHECK(refused(trainer, fmt::format(R"({{"do":"give_controls","to":{}}})", pupil)).empty());
    CHECK(refused(pupil, R"({"do":"give_back_controls"})").empty());
    CHECK(panel.room().holds(trainer));
  }

  TEST_CASE("a lost line takes a pupil's controls and leaves a trainer theirs") {
    Panel panel{shipped("training/shared-address.yaml"), {}, RoomKind::led};
    const ViewerId trainer = panel.join(0s, {{}, Role::trainer});
    const std::string key{heard(panel)[0].message.at("you").at("key").as_string()};
    const ViewerId pupil = panel.join(0s, {{}, Role::pupil});
    panel.receive(trainer, R"({"do":"curtain","drawn":true})", 1s);
    panel.receive(trainer, fmt::format(R"({{"do":"give_controls","to":{}}})", pupil), 1s);
    panel.leave(pupil, 2s);
    panel.at_real(2s + time_to_come_back);
    CHECK(panel.room().holds(trainer));
    panel.leave(trainer, 20s);
    panel.at_real(4000s);  // an hour later
    CHECK(panel.room().holds(trainer));
    CHECK(panel.room().curtain() == Curtain::drawn);
    const ViewerId other = panel.join(4000s, {{}, Role::pupil});
    CHECK_FALSE(panel.room().holds(other));
    CHECK(panel.join(4001s, {key, Role::pupil}) != trainer);  // the key to a seat opens it for nobody else
    CHECK(panel.join(4002s, {key, Role::trainer}) == trainer);
    CHECK(panel.room().leads(trainer));
    // Another browser with the trainer's link leads as well; the seat that nobody sits on goes to it.
    panel.leave(trainer, 4100s);
    const ViewerId again = panel.join(4200s, {{}, Role::trainer});
    CHECK(panel.room().holds(again));
    panel.at_real(4200s + time_to_come_back);
    CHECK(panel.room().viewers().size() == 3);
  }

  TEST_CASE("a viewer who leaves takes the finger off the button") {
    Panel panel{shipped("training/shared-address.yaml")};
    const ViewerId first = panel.join(0s);
    panel.join(0s);
    panel.receive(first, R"({"do":"play"})", 0s);
    panel.receive(first, R"({"do":"press","device":"P1","buttons":["up"]})", 1s);
    CHECK(panel.bench().holding());
    panel.leave(first, 2s);
    CHECK_FALSE(panel.bench().holding());
    panel.at_real(3s);
    CHECK(panel.bench().run().world().devices[0].contacts == 0);
  }

  TEST_CASE("what is not understood is refused in words, and nothing is done") {
    Bench bench{shipped("training/setup-split.yaml")};
    const auto code_and_why = [&](const std::string& message) {
      const Answer answer = take_message(bench, message);
      REQUIRE_MESSAGE(answer.refused, message);
      return std::string{to_string(answer.refused->code())} + ": " + answer.refused->what();
    };
    CHECK(code_and_why("") == "message: This is no JSON: incomplete JSON.");
    CHECK(code_and_why("[]") == "message: A message is a JSON object.");
    CHECK(code_and_why("{}") == "message: A message says in 'do' what is to be done.");
    CHECK(code_and_why(R"({"do":"pres"})") == "message: Nobody here can 'pres'. Did you mean 'press'?");
    CHECK(code_and_why(R"({"do":"press","device":"P2","buttons":["up"]})") ==
          "unknown: There is no device 'P2'. Did you mean 'P1'?");
    CHECK(code_and_why(R"({"do":"press","device":"P1","buttons":["upp"]})") ==
          "unknown: There is no button 'upp'. Did you mean 'up'?");
    CHECK(code_and_why(R"({"do":"press","device":"P1"})") == "message: 'buttons' is missing.");
    CHECK(code_and_why(R"({"do":"press","device":"P1","buttons":[]})") ==
          "message: 'buttons' is a list of 1 to 16 words.");
    CHECK(code_and_why(R"({"do":"play","now":true})") == "message: 'play' knows no 'now'.");
    CHECK(code_and_why(R"({"do":"speed","speed":0.01})") ==
          "message: 'speed' is a number from 0.1 to 10000.");
    CHECK(code_and_why(R"({"do":"speed","speed":"fast"})") ==
          "message: 'speed' is a number from 0.1 to 10000.");
    CHECK(code_and_why(R"({"do":"switches","device":"P1","site":64})") ==
          "message: 'site' is a whole number from 0 to 63.");
    CHECK(code_and_why(R"({"do":"switches","device":"M1","site":1})") ==
          "unknown: M1 is a module; only plates have switches.");
    CHECK(code_and_why(R"({"do":"note","text":""})") == "message: 'text' has 1 to 400 characters.");
    CHECK(code_and_why("{\"do\":\"note\",\"text\":\"a\\u0007b\"}") ==
          "message: 'text' has a character that cannot stand in a text.");
    CHECK(code_and_why(R"({"do":"jump"})") == "not_now: No device is in setup, so no time-out is running.");
    CHECK(code_and_why(R"({"do":"release"})") == "not_now: No button is being held.");
    CHECK(code_and_why(R"({"do":"seek","at_s":-1})") == "message: 'at_s' is a number from 0 to 2678400.");
    CHECK(code_and_why(R"({"do":"link","link":"P1-M2","state":"cut"})") ==
          "unknown: There is no state of a link 'cut'.");
    CHECK(code_and_why(R"({"do":"walk","place":"cellar"})") == "unknown: There is no place 'cellar'.");
    CHECK(code_and_why(std::string(20'000, ' ')) == "message: A message has at most 16384 bytes.");
    CHECK(code_and_why(std::string(3'000, '[')).starts_with("message: This is no JSON"));
    CHECK(bench.run().steps().empty());
    CHECK(bench.courses().size() == 1);
  }

  TEST_CASE("what changed with nothing but time is the clock alone, once a second") {
    Panel panel{shipped("training/shared-address.yaml")};
    const ViewerId me = panel.join(0s);
    panel.receive(me, R"({"do":"play"})", 0s);
    (void)heard(panel);
    std::size_t told = 0;
    for (RealTime real = 0s; real <= 10s; real += 10ms) {
      panel.at_real(real);
      for (const Heard& each : heard(panel)) {
        CHECK(each.type() == "changed");
        ++told;
      }
    }
    CHECK(told >= 10);
    CHECK(told <= 14);  // and what happens by itself when a site comes on
  }
}
