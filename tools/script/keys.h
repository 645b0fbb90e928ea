// Every key that a file of ours may hold, mapping by mapping. The JSON Schemas are tested against these
// lists.
#pragma once

#include <array>
#include <string_view>

namespace drybus::tools::keys {

template <std::size_t count>
using List = std::array<std::string_view, count>;

// A scenario.
inline constexpr List<11> scenario = {"drybus", "title", "about",  "family", "seed",   "site",
                                      "people", "start", "script", "others", "outside"};
inline constexpr List<2> people = {"press", "pause"};
inline constexpr List<2> other_person = {"start", "script"};

// What a device outside the simulation did, in a session that was saved.
inline constexpr List<9> outside_step = {"at",   "send",    "show",   "level",   "within",
                                         "mode", "because", "stored", "power_up"};
inline constexpr List<5> outside_telegram = {"kind", "site", "zone", "channel", "argument"};
inline constexpr List<3> outside_memory = {"site", "zone", "channel"};

// A report: a scenario as it was told, and what was seen.
inline constexpr List<18> report = {
    "drybus-report", "title",     "about",   "family",          "seed",   "site",
    "as built",      "people",    "start",   "script",          "others", "seen",
    "never",         "complaint", "capture", "capture_in_part", "intake", "answers"};
/// Of a guided repair: what was asked, under the key that says what about, and what came of it.
inline constexpr List<7> answer = {"check", "again", "cure", "proof", "answer", "steps", "seen"};

// A lesson: a story, and what a class is asked on the way.
inline constexpr List<6> lesson = {"drybus-lesson", "title", "about", "scenario", "tries", "questions"};
inline constexpr List<12> question = {"stop",  "ask",    "choice", "place", "device",   "number",
                                      "press", "within", "way",    "hints", "uncovers", "because"};
inline constexpr List<2> lesson_option = {"says", "if"};
inline constexpr List<4> lesson_number = {"of", "count", "time_left", "off_by"};

// A site: within a scenario, or a file of its own.
inline constexpr List<5> site = {"places", "plates", "modules", "bus", "generations"};
inline constexpr List<8> site_file = {"drybus-site", "about",   "family", "places",
                                      "plates",      "modules", "bus",    "record"};
/// What was done to a site since it was built, entry by entry.
inline constexpr List<7> record_entry = {"what", "on", "by", "device", "text", "lines", "missing"};
inline constexpr List<3> place = {"walk", "at", "floor"};
inline constexpr List<5> plate = {"label", "place", "switches", "neighbour", "family"};
inline constexpr List<2> switches = {"site", "zone"};
inline constexpr List<13> module = {"label",         "place",  "intended",       "stored", "power_up",
                                    "last_level",    "scenes", "neighbour",      "load",   "plate",
                                    "do_not_switch", "family", "intended_scenes"};
inline constexpr List<2> load = {"power", "dimming"};
inline constexpr List<5> bus = {"line", "tree", "radio", "blocked", "cable"};
inline constexpr List<5> cable = {"core", "class", "length", "lengths", "fed_at"};

// A step of a script: one action, and what may go with it.
inline constexpr List<12> actions = {"press", "hold", "wait",   "walk", "switches", "power",
                                     "fault", "see",  "expect", "note", "repeat",   "include"};
inline constexpr List<18> step = {"press", "hold",   "wait",   "walk",  "switches", "power",
                                  "fault", "see",    "expect", "note",  "repeat",   "include",
                                  "for",   "bounce", "at",     "steps", "text",     "comment"};
/// In a report `seen` is another word for `see`.
inline constexpr List<21> told_step = {"press",  "hold", "wait",   "walk", "switches", "power",     "fault",
                                       "see",    "seen", "expect", "note", "repeat",   "include",   "for",
                                       "bounce", "at",   "steps",  "text", "comment",  "addressed", "unsure"};
inline constexpr List<2> addressed = {"with", "modules"};
inline constexpr List<11> fault = {"open", "short",     "noisy",    "mend",       "stuck",    "free",
                                   "deaf", "dead_load", "new_load", "bit_errors", "telegrams"};
inline constexpr List<2> steps_file = {"about", "steps"};

// A catalogue of what may go wrong.
inline constexpr List<5> catalogue = {"drybus-catalogue", "about", "misreport", "slips", "faults"};
inline constexpr List<3> misreport = {"sure", "unsure", "false-alarm"};
inline constexpr List<2> chance = {"chance", "source"};
inline constexpr List<11> slips = {"forgot",       "repeated",      "wrong-button", "let-go-early",
                                   "wrong-module", "second-module", "took-longer",  "took-shorter",
                                   "switch-wrong", "bounced",       "exchanged"};
inline constexpr List<15> faults = {"other-address", "other-generation", "open-link",     "shorted-link",
                                    "noisy-link",    "dead-device",      "power-cut",     "write-lost",
                                    "stuck-button",  "telegram-lost",    "neighbour",     "was-in-setup",
                                    "other-hands",   "dead-load",        "other-power-up"};

// A family.
inline constexpr List<8> family = {"drybus-family", "about",    "plate", "module",
                                   "indicator",     "contacts", "clock", "bus"};
inline constexpr List<8> family_plate = {"buttons",    "site_switches", "zone_switches", "channels",
                                         "long_press", "normal",        "setup",         "machine"};
inline constexpr List<3> machine = {"shows", "states", "rows"};
inline constexpr List<4> machine_state = {"mode", "shows", "entry", "exit"};
inline constexpr List<5> machine_row = {"in", "on", "when", "do", "to"};
inline constexpr List<2> switch_bank = {"binary", "dials"};
inline constexpr List<2> binding = {"press", "hold"};
inline constexpr List<11> family_plate_setup = {
    "hold",  "for",      "next",         "previous",          "identify", "assign",
    "leave", "time_out", "counted_from", "announces_leaving", "beacon"};
inline constexpr List<14> family_module = {"button", "setup",   "ask",        "confirm", "store",
                                           "flash",  "fade",    "full_range", "scenes",  "factory",
                                           "memory", "ratings", "machine",    "group"};
inline constexpr List<2> memory = {"keeps", "torn_write"};
inline constexpr List<2> rating = {"least", "most"};
inline constexpr List<4> family_module_setup = {"for", "supply", "time_out", "counted_from"};
inline constexpr List<2> supply_gesture = {"times", "on_for"};
inline constexpr List<3> factory = {"site", "power_up", "scenes"};
inline constexpr List<5> indicator = {"identify", "refuse", "breathe", "blip", "blips_sleep"};
inline constexpr List<2> contacts = {"debounce", "stuck_after"};
inline constexpr List<1> clock = {"tolerance"};
inline constexpr List<12> family_bus = {"kind",          "bit_rate",    "bits_per_byte", "overhead_bits",
                                        "listens_first", "sense_delay", "gap",           "backoff",
                                        "outbox",        "carrier",     "link_budget",   "supply"};
inline constexpr List<5> supply = {"voltage", "least", "most", "plate", "module"};
inline constexpr List<3> backoff = {"slot", "doublings", "attempts"};

}  // namespace drybus::tools::keys
