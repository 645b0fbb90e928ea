// Every key that a scenario of an IEC 62386 line may hold, mapping by mapping. The JSON Schema is tested against these.
#pragma once

#include "tools/script/keys.h"

namespace drybus::tools::keys::line {

inline constexpr List<8> scenario = {"drybus", "protocol", "title",  "about",
                                     "seed",   "site",     "script", "others"};
inline constexpr List<2> person = {"start", "script"};
inline constexpr List<5> site = {"places", "line", "lines", "controllers", "gear"};
inline constexpr List<1> place = {"walk"};
inline constexpr List<2> line = {"supply", "core"};
inline constexpr List<12> controller = {"label",    "place",  "line",         "at",
                                        "supplies", "bridge", "transactions", "sees collisions",
                                        "priority", "draws",  "buttons",      "all bytes"};
inline constexpr List<4> button = {"send", "set", "to", "once"};
inline constexpr List<11> gear = {"label",  "place", "line",   "at",    "intended",        "holds",
                                  "former", "type",  "random", "draws", "physical minimum"};
inline constexpr List<9> holds = {"short",
                                  "groups",
                                  "scenes",
                                  "max level",
                                  "min level",
                                  "power on level",
                                  "system failure level",
                                  "fade time",
                                  "random address"};
inline constexpr List<18> actions = {"address", "name", "send",  "set",   "inventory", "press",
                                     "unplug",  "plug", "power", "fault", "mend",      "swap",
                                     "replace", "wait", "walk",  "note",  "see",       "expect"};
inline constexpr List<30> step = {"address", "name",     "send",  "set",   "inventory", "press",
                                  "unplug",  "plug",     "power", "fault", "mend",      "swap",
                                  "replace", "wait",     "walk",  "note",  "see",       "expect",
                                  "by",      "to",       "from",  "each",  "randomise", "terminate",
                                  "once",    "priority", "holds", "at",    "text",      "comment"};
inline constexpr List<9> fault = {"short",     "mains", "join",   "second supply", "lamp",
                                  "holds low", "deaf",  "frames", "gives"};
inline constexpr List<10> settings = {
    "group",     "no group",       "scene",     "no scene",  "max level",
    "min level", "power on level", "fade time", "fade rate", "system failure level"};

}  // namespace drybus::tools::keys::line
