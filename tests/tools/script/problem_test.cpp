// How problems look, and that every kind of mistake is told at its exact place with the nearest right word.
#include "tools/script/problem.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "tests/support/printing.h"
#include "tests/support/script_text.h"

namespace {

using namespace drybus::tests;
using drybus::tools::Problem;
using drybus::tools::to_text;

using Lines = std::vector<std::string>;

TEST_CASE("a problem shows its line, underlines the word and names the right one") {
  CHECK(to_text(Problem{"x.yaml", 12, 1, "unknown key 'scripp'", "one of: about, script", "script",
                        "scripp:", 6}) ==
        "x.yaml:12:1: unknown key 'scripp'\n"
        "   12 | scripp:\n"
        "      | ^^^^^^\n"
        "   expected one of: about, script   did you mean 'script'?\n");
}

TEST_CASE("a problem with a whole file shows no line") {
  Problem problem;
  problem.file = "x.yaml";
  problem.message = "there is no such file";
  CHECK(to_text(problem) == "x.yaml: there is no such file\n");
}

TEST_CASE(
    "marks stand under the word after tabs and accents, and nothing of a text reaches the terminal raw") {
  CHECK(to_text(Problem{"x", 1, 6, "m", "", "", "\té: ab", 2}) ==
        "x:1:6: m\n    1 | \té: ab\n      | \t    ^\n");
  CHECK(to_text(Problem{"x\x1b", 1, 1, "\x1b[31m", "", "", "a\x1b[0m", 1}) ==
        "x?:1:1: ?[31m\n    1 | a?[0m\n      | ^\n");
}

TEST_CASE("of a long line so much is shown as fits") {
  const std::string text =
      to_text(Problem{"x", 1, 1001, "m", "", "", std::string(1000, 'a') + "b" + std::string(1000, 'c'), 1});
  CHECK(text.size() < 300);
  const std::size_t shown = text.find('\n') + 1;
  const std::size_t marks = text.find('\n', shown) + 1;
  CHECK(text[shown + (text.find('^', marks) - marks)] == 'b');
}

struct Mistake {
  const char* step;     ///< the script's only step; its lines begin in line 12, column 3
  const char* problem;  ///< as problems_of tells it
};

TEST_CASE("mistakes in steps are told at their place") {
  const Mistake mistakes[] = {
      {"- pres: P1 up",
       "12:5 unknown key 'pres' | one of: press, hold, wait, walk, switches, power, fault, see, expect, "
       "note, repeat, "
       "include, for, bounce, at, steps, text, comment | press"},
      {"- press: P1 ip", "12:15 unknown button 'ip' | one of: set, up, down, accept, off, one, two | up"},
      {"- press: P2 up", "12:12 unknown device 'P2' | one of: P1, M1, M2 | P1"},
      {"- press: p1 up", "12:12 unknown device 'p1' | one of: P1, M1, M2 | P1"},
      {"- press: P1", "12:12 which button of P1? | one of: set, up, down, accept, off, one, two | "},
      {"- press: \"P1 ip\"", "12:16 unknown button 'ip' | one of: set, up, down, accept, off, one, two | up"},
      {"- press: M1 locla", "12:15 unknown button 'locla' | local | local"},
      {"- press:", "12:5 a value is missing |  | "},
      {"- press: [P1, up]", "12:12 a list where a single value should be |  | "},
      {"- press up", "12:5 a colon is missing after 'press' |  | press: up"},
      {"- up", "12:5 a step should be a mapping, not a single value |  | "},
      {"- {}", "12:5 this step does nothing | an action such as press, hold, wait or see | "},
      {"- text: hello", "12:5 this step does nothing | an action such as press, hold, wait or see | "},
      {"- hold: P1 set", "12:5 a hold needs how long: 'for' | for: 5s beside it | "},
      {"- hold: P1 set\n  for: 5",
       "13:10 a bare number; add a unit, e.g. 5 s | a time with its unit, such as 200ms, 5 s, 3min or 1h "
       "30min | "},
      {"- hold: P1 set\n  for: 0s", "13:10 no time at all | a time longer than none, such as 200ms | "},
      {"- press: P1 up\n  bounce: 1s",
       "13:13 a contact cannot bounce for longer than the press | at most 200ms | "},
      {"- wait: 200",
       "12:11 a bare number; add a unit, e.g. 200 s | a time with its unit, such as 200ms, 5 s, 3min or 1h "
       "30min | "},
      {"- wait: 3:42",
       "12:11 '3:42' could be minutes or hours | a time with its unit, such as 200ms, 5 s, 3min or 1h 30min "
       "| 3min 42s"},
      {"- wait: 5 secs", "12:11 unknown unit 'secs' | one of the units h, min, s, ms, us, ns | s"},
      {"- wait: 5s\n  for: 5s", "13:5 'for' goes with 'press' and 'hold' |  | "},
      {"- wait: 5s\n  bounce: 5ms", "13:5 'bounce' goes with 'press' and 'hold' |  | "},
      {"- wait: 5s\n  steps: []", "13:5 'steps' goes with 'repeat' |  | "},
      {"- wait: 5s\n  press: P1 up",
       "13:5 a step does one thing, and this one already has 'wait' | '- press:' as a step of its own | "},
      {"- wait: 5s\n  wait: 6s", "13:5 'wait' stands here twice; the first is in line 12 |  | "},
      {"- wait: 5s\n  text: a\n  comment: b",
       "14:14 'text' and 'comment' are the same thing; one is enough |  | "},
      {"- note: a\n  text: b", "13:11 a note already has its text |  | "},
      {"- walk: atic", "12:11 unknown place 'atic' | one of: hall, attic | attic"},
      {"- switches: {P1: {zone: 16}}", "12:27 16 is out of range | a whole number from 0 to 15 | "},
      {"- switches: {P1: {site: 64}}", "12:27 64 is out of range | a whole number from 0 to 63 | "},
      {"- switches: {P1: {zome: 5}}", "12:21 unknown key 'zome' | one of: site, zone | zone"},
      {"- switches: {P1: {}}", "12:20 neither a site nor a zone | {zone: 5} | "},
      {"- switches: {M1: {zone: 5}}", "12:16 'M1' is a module; only plates have switches |  | "},
      {"- switches: {P3: {zone: 5}}", "12:16 unknown device 'P3' | one of: P1, M1, M2 | P1"},
      {"- power: {M3: off}", "12:13 unknown device 'M3' | one of: P1, M1, M2 | M1"},
      {"- power: {M1: of}", "12:17 unknown state of power 'of' | one of: off, on | off"},
      {"- power: none", "12:12 unknown state of power 'none' | one of: off, on | on"},
      {"- fault: {opne: P1-M1}",
       "12:13 unknown key 'opne' | one of: open, short, noisy, mend, stuck, free, deaf, dead_load, "
       "new_load, bit_errors, telegrams | open"},
      {"- fault: {open: P1-M2}", "12:19 unknown link 'P1-M2' | one of: P1-M1, M1-M2 | P1-M1"},
      {"- fault: {open: P1-M1, short: M1-M2}",
       "12:26 a step breaks one thing, and this one already has 'open' |  | "},
      {"- fault: {noisy: P1-M1}", "12:20 how noisy? | bit_errors: 1 in 1000 beside it | "},
      {"- fault: {noisy: P1-M1, bit_errors: 60%}",
       "12:39 out of range | from 1 in 1000000000 to 50% of the bits | "},
      {"- fault: {open: P1-M1, bit_errors: 1e-3}", "12:38 'bit_errors' goes with 'noisy' |  | "},
      {"- fault: {stuck: P1 set up}", "12:20 more than one button | one button, such as P1 up | "},
      {"- fault: {stuck: P1 sett}",
       "12:23 unknown button 'sett' | one of: set, up, down, accept, off, one, two | set"},
      {"- fault: {deaf: M9}", "12:19 unknown device 'M9' | one of: P1, M1, M2 | M1"},
      {"- fault: {deaf: M1, telegrams: 0}", "12:34 0 is out of range | a whole number from 1 to 65535 | "},
      {"- fault: {}",
       "12:12 no fault | open, short, noisy, mend, stuck, free, deaf, dead_load or new_load | "},
      {"- see: {M1.indicatr: blink}",
       "12:14 unknown fact of a module 'indicatr' | one of: indicator, load | indicator"},
      {"- see: {M1.address: none}",
       "12:14 nobody can see a device's address | 'expect' for what is really so | "},
      {"- see: {findings: none}",
       "12:11 findings are hidden from people on site | 'expect' for what is really so | "},
      {"- see: {M1.indicator: blnk}",
       "12:25 unknown pattern 'blnk' | one of: dark, blink, breathe, steady, blip | blink"},
      {"- see: {P1.indicator: steady}",
       "12:25 unknown pattern 'steady' | one of: dark, blink, blip, refuse | "},
      {"- see: {P1.load: lit}", "12:14 unknown fact of a plate 'load' | indicator | "},
      {"- see: {M1.load: 40}",
       "12:20 a bare number; add a unit, e.g. 40 % | a percentage from 0 to 100, such as 40% | "},
      {"- see: {M1: blink}", "12:11 which fact of 'M1'? | a device and a fact, such as M1.indicator | "},
      {"- see: {M8.load: lit}", "12:11 unknown device 'M8' | one of: P1, M1, M2 | M1"},
      {"- see: {}", "12:10 nothing to look for | {M1.indicator: blink} | "},
      {"- see: {M1.load}", "12:11 a value is missing |  | "},
      {"- expect: {M1.mode: normol}", "12:23 unknown mode 'normol' | one of: normal, setup | normal"},
      {"- expect: {M1.power_up: ful}", "12:27 unknown power-up mode 'ful' | one of: off, full, last | full"},
      {"- expect: {M1.address: 23/4}",
       "12:26 '23/4' is not an address | site/zone/channel, such as 23/4/1 | "},
      {"- expect: {M1.address: 23/0/1}", "12:26 zone 0 cannot be assigned | 1 to 15 | "},
      {"- expect: {M1.address: 23/4/0}", "12:26 channel 0 cannot be assigned | 1 to 12 | "},
      {"- expect: {M1.address: 64/4/1}", "12:26 no plate of this family can be set to site 64 | 0 to 63 | "},
      {"- expect: {M1.address: 23/16/1}", "12:26 no plate of this family can be set to zone 16 | 1 to 15 | "},
      {"- expect: {M1.address: 23/4/13}", "12:26 no plate of this family has a channel 13 | 1 to 12 | "},
      {"- expect: {P1.channel: 13}", "12:26 13 is out of range | a whole number from 0 to 12 | "},
      {"- expect: {P1.address: none}",
       "12:17 unknown fact of a plate 'address' | one of: indicator, mode, channel, site, zone | "},
      {"- expect: {findings: [setup-spilt]}",
       "12:25 unknown finding 'setup-spilt' | one of: setup-split, assign-unheard, press-misread, "
       "two-plates-in-setup, "
       "shared-address, wrong-address, unaddressed, orphan-address, site-overlap, factory-site, zone-zero, "
       "out-of-reach, telegram-lost, blip-asleep, powers-up-lit, stuck-button, write-lost, not-understood, "
       "scene-in-motion, scene-missed, scene-of-before, scene-unset, scene-overwritten, scene-wrong, ... "
       "| setup-split"},
      {"- expect: {findings: {a: b}}",
       "12:24 findings are a list | [setup-split, assign-unheard], or none | "},
      {"- repeat: 3", "12:5 what is to be repeated? | steps: [...] beside it | "},
      {"- repeat: 0\n  steps: [{wait: 1s}]", "12:13 0 is out of range | a whole number from 1 to 65000 | "},
      {"- repeat: 2\n  steps: []", "13:12 no steps |  | "},
      {"- repeat: 2\n  steps: [{wiat: 1s}]",
       "13:14 unknown key 'wiat' | one of: press, hold, wait, walk, switches, power, fault, see, expect, "
       "note, repeat, "
       "include, for, bounce, at, steps, text, comment | wait"},
      {"- include: nowhere.yaml",
       "12:14 " DRYBUS_SOURCE_DIR "/scenarios/nowhere.yaml: there is no such file |  | "},
      {"- include: test.yaml", "12:14 'test.yaml' would include itself |  | "},
      {"- wait: 5min\n- press: P1 up\n  at: 4min",
       "14:9 it is already 5:00.0 when this step is reached | a time not before 300s | "},
      {"- press: M2\n- press: P1 up\n  at: 40s",
       "14:9 it is already 0:40.5 when this step is reached | a time not before 40s 500ms | "},
      {"- repeat: 2\n  steps:\n    - wait: 1s\n      at: 5s",
       "15:13 it is already 0:06.0 when this step is reached | a time not before 6s | "},
      {"- repeat: 2\n  at: 1s\n  steps: [{wait: 1s, at: 5s}]",
       "13:9 the first step within has an 'at' of its own |  | "},
  };
  for (const Mistake& mistake : mistakes) {
    const auto told = problems_of(scenario_with(mistake.step));
    CAPTURE(std::string{mistake.step});
    CAPTURE(told.empty() ? std::string{} : std::string{told.front()});
    CHECK(told == Lines{mistake.problem});
  }
}

struct MistakenLine {
  int line;
  const char* text;
  const char* problem;
};

TEST_CASE("mistakes in the rest of a scenario are told at their place") {
  const std::string keys =
      "one of: drybus, title, about, family, seed, site, people, start, script, others, outside";
  const MistakenLine mistakes[] = {
      {11, "scripp:", "11:1 unknown key 'scripp' | {keys} | script"},
      {1, "drybus: 2", "1:9 version '2' is not known here | drybus: 1 | "},
      {1, "", "2:1 the key 'drybus' is missing: it says what this file is | drybus: 1 | "},
      {1, "drybos: 1", "1:1 unknown key 'drybos' | {keys} | drybus"},
      {3, "family: wired-keyapd",
       "3:9 unknown family 'wired-keyapd' | one of: asking-modules, confirming-modules, master-keypad, "
       "radio-keypad, "
       "supply-counter, wired-keypad | wired-keypad"},
      {3, "", "1:1 the key 'family' is missing | the name of a family, such as wired-keypad | "},
      {3, "family: ./wired-keypad.yaml",
       "3:9 unknown family './wired-keypad.yaml' | one of: asking-modules, confirming-modules, "
       "master-keypad, radio-keypad, "
       "supply-counter, wired-keypad | "},
      {2, "seed: -1", "2:7 '-1' is not a whole number | a whole number | "},
      {2, "seed: 18446744073709551616", "2:7 '18446744073709551616' is too large |  | "},
      {2, "people: {press: 0s}", "2:17 no time at all | a time longer than none, such as 200ms | "},
      {2, "people: {pres: 1s}", "2:10 unknown key 'pres' | one of: press, pause | press"},
      {2, "start: hal", "2:8 unknown place 'hal' | one of: hall, attic | hall"},
      {2, "title: [a]", "2:8 a list where a single value should be |  | "},
      {2, "title: a\ntitle: b", "3:1 'title' stands here twice; the first is in line 2 |  | "},
      {2, "others: [a]", "2:9 others should be a mapping, not a list |  | "},
      {2, "others: {Ann: {skript: []}}", "2:16 unknown key 'skript' | one of: start, script | script"},
      {2, "others: {installer: []}", "2:10 the installer's steps are the 'script' | another name | "},
      {4, "sites:", "4:1 unknown key 'sites' | {keys} | site"},
      {5, "  places: {hall: {}, attic: {walk: {hal: 40s}}}",
       "5:37 unknown place 'hal' | one of: hall, attic | hall"},
      {5, "  places: {hall: {}, attic: {walk: {hall: 40}}}",
       "5:43 a bare number; add a unit, e.g. 40 s | a time with its unit, such as 200ms, 5 s, 3min or 1h "
       "30min | "},
      {5, "  places: {hall: {}, attic: {walk: {attic: 40s}}}", "5:37 a walk from a place to itself |  | "},
      {5, "  places: {hall: {walk: {attic: 1s}}, attic: {walk: {hall: 40s}}}",
       "5:60 this walk already takes 1s |  | "},
      {5, "  places: {hall: {}, attic: {at: [1, 2 m]}}",
       "5:35 a bare number; add a unit, e.g. 1 m | a number with its unit, such as 10 m | "},
      {5, "  places: {hall: {}, attic: {at: [1 m]}}",
       "5:34 where a place is takes two distances | [3 m, 4.5 m] | "},
      {5, "  places: {hall: {}, attic: {floor: 1}}",
       "5:37 a floor means nothing without 'at' | at: [3 m, 4.5 m] beside it | "},
      {5, "  places: {hall: {}, attic: {at: [1 m, 1 m], floor: 1.5}}",
       "5:53 '1.5' is not a floor | a whole number from -20 to 200 | "},
      {5, "  places: {hall: {}, attic: {at: [1 m, 20000 m]}}",
       "5:40 20000 m is out of range | -10000 m to 10000 m | "},
      {7, "    P1: {place: hal, switches: {site: 23, zone: 4}}",
       "7:17 unknown place 'hal' | one of: hall, attic | hall"},
      {7, "    P1: {switches: {site: 23, zone: 4}}",
       "7:9 a device needs its 'place', as there are several |  | "},
      {7, "    P1: {place: hall}", "7:9 a plate lacks the key 'switches' |  | "},
      {7, "    P1: {place: hall, switches: {site: 23}}", "7:33 switches lacks the key 'zone' |  | "},
      {7, "    P1: {place: hall, switches: {site: 99, zone: 4}}",
       "7:40 99 is out of range | a whole number from 0 to 63 | "},
      {7, "    P1: {place: hall, switches: {site: 23, zone: 4}, neighbour: maybe}",
       "7:65 unknown answer 'maybe' | one of: yes, no, true, false | "},
      {7, "    P1: {place: hall, swiches: {site: 23, zone: 4}}",
       "7:23 unknown key 'swiches' | one of: label, place, switches, neighbour, family | switches"},
      {10, "    P1: {place: hall}", "10:5 a plate is already called 'P1' |  | "},
      {10, "    all: {place: hall}",
       "10:5 'all' cannot name a device | letters, digits and underscores, a letter first, such as P1 | "},
      {10, "    M-2: {place: hall}",
       "10:5 'M-2' cannot name a device | letters, digits and underscores, a letter first, such as P1 | "},
      {10, "    M2: {place: hall, intended: 23/0/1}", "10:33 zone 0 cannot be assigned | 1 to 15 | "},
      {10, "    M2: {place: hall, stored: 23/4/13}",
       "10:31 no plate of this family has a channel 13 | 1 to 12 | "},
      {10, "    M2: {place: hall, power_up: on}",
       "10:33 unknown power-up mode 'on' | one of: off, full, last | "},
      {10, "    M2: {place: hall, scenes: {5: 40%}}",
       "10:32 5 is out of range | a whole number from 1 to 4 | "},
      {10, "    M2: {place: hall, scenes: {1: 40}}",
       "10:35 a bare number; add a unit, e.g. 40 % | a percentage from 0 to 100, such as 40% | "},
      {10, "    M2: {place: hall}\n  bus: {line: [P1, M1, M3]}",
       "11:24 unknown device 'M3' | one of: P1, M1, M2 | M1"},
      {10, "    M2: {place: hall}\n  bus: {line: [P1, M1, P1]}", "11:24 'P1' is already on a bus |  | "},
      {10, "    M2: {place: hall}\n  bus: [{line: [P1, M1]}, {line: [M1, M2]}]",
       "11:35 'M1' is already on a bus |  | "},
      {10, "    M2: {place: hall}\n  bus: {lien: [P1, M1]}",
       "11:9 unknown key 'lien' | one of: line, tree, radio, blocked, cable | line"},
      {10, "    M2: {place: hall}\n  bus: {line: [P1], tree: [P1-M1]}",
       "11:8 a bus is one of 'line', 'tree' and 'radio' | {line: [P1, M1]}, {tree: [P1-J1, J1-M1]} or "
       "{radio: all} | "},
      {10, "    M2: {place: hall}\n  bus: {radio: all}",
       "11:16 the devices of the family 'wired-keypad' are wired | {line: [P1, M1]} or {tree: [P1-J1, "
       "J1-M1]} | "},
      {10, "    M2: {place: hall}\n  bus: {tree: [P1-M1, M1-M2, M2-P1]}",
       "11:30 'M2-P1' closes a ring | a tree: one way from each to each | "},
      {10, "    M2: {place: hall}\n  bus: {tree: [P1-M1, M1-M22]}",
       "11:26 unknown device 'M22' (as a junction it would join two links or more) | one of: P1, M1, M2 | "
       "M2"},
      {10, "    M2: {place: hall}\n  bus: {tree: [P1 M1]}",
       "11:16 'P1 M1' is not a link | two names with a hyphen, such as P1-M1 | "},
      {10, "    M2: {place: hall}\n  bus: {tree: [P1-P1]}",
       "11:16 'P1-P1' closes a ring | a tree: one way from each to each | "},
      {10, "    M2: {place: hall}\n  bus: {line: []}", "11:15 nobody is on this bus |  | "},
      {10, "    M2: {place: hall}\n  bus: {line: [P1], blocked: [P1-M1]}",
       "11:30 'blocked' goes with 'radio' |  | "},
  };
  for (const MistakenLine& mistake : mistakes) {
    std::string problem = mistake.problem;
    if (const auto at = problem.find("{keys}"); at != std::string::npos) problem.replace(at, 6, keys);
    CAPTURE(mistake.text);
    CHECK(problems_of(scenario_with_line(mistake.line, mistake.text)) == Lines{problem});
  }
}

TEST_CASE("all problems of a file are told at once, in the order of their places") {
  std::string text = scenario_with("- wait: 200\n- press: P1 ip\n- see: {M1.load: maybe}");
  text.replace(text.find("hall: 40s"), 9, "hal: 40s");
  Lines places;
  for (const std::string& problem : problems_of(text)) places.push_back(problem.substr(0, problem.find(' ')));
  CHECK(places == Lines{"5:37", "12:11", "13:15", "14:20"});
}

TEST_CASE("problems within other files are told there, after those of the scenario itself") {
  std::string text = scenario_with("- wait: 200");
  text.replace(text.find("wired-keypad"), 12, "../tests/data/script/odd-family.yaml");
  const auto reading = read(text);
  REQUIRE_FALSE(reading.ok());
  REQUIRE(reading.problems().size() == 2);
  CHECK(reading.problems()[0].file == DRYBUS_SOURCE_DIR "/scenarios/test.yaml");
  CHECK(reading.problems()[0].line == 12);
  CHECK(reading.problems()[1].file == DRYBUS_SOURCE_DIR "/tests/data/script/odd-family.yaml");
  CHECK(reading.problems()[1].message == "unknown button 'upp'");
  CHECK(reading.problems()[1].suggestion == "up");
}

}  // namespace
