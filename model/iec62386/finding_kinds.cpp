#include "model/iec62386/finding_kinds.h"

#include <array>

namespace drybus::iec62386 {

namespace {

using Kind = protocol::FindingKind;

constexpr std::array<Kind, sim::count_of<FindingId>> kinds = {{
    {"shared-short-address",
     "a gear came from another site with its number, a new batch was numbered from 0 beside the old one, or "
     "two lines became one",
     "Take the number away from one of them by searching for it (initialise that short address, search), and "
     "give it a free one."},
    {"no-short-address",
     "it is new from the box, had no power while the others were addressed, or never heard its number",
     "Address the new ones only: initialise those without an address, search, program, terminate. The others "
     "keep theirs."},
    {"random-twins", "both drew the same random address, as poor generators do",
     "Initialise the one short address that they share, randomise, search again: each is then found and gets "
     "a number of its own."},
    {"init-ran-out", "more than 15 minutes went by between initialise and the last number",
     "Initialise those without an address and go on. Do not randomise those that are done. With many lamps "
     "give all numbers "
     "first, in one go, and name the lamps afterwards."},
    {"left-initialised", "nobody sent terminate: it was forgotten, or the tool was pulled out in the middle",
     "Send terminate, or wait 15 minutes; only then search anew."},
    {"randomised-again", "randomise was said to all, where only the new ones were to be addressed",
     "Their short addresses are as they were: take the inventory of the line anew, by short address."},
    {"two-searchers", "a second tool or controller addresses on the same line",
     "Let one of them stop, unplug it or make it quiet; send terminate, and begin afresh with the other."},
    {"twice-missed", "the second frame was lost, came later than 100 ms, or another frame came in between",
     "Send the setting again, and read it back."},
    {"dtr-trodden", "another sender wrote DTR0 between the value and the command that used it",
     "Send value and command as one transaction, at priority 1, and read the setting back."},
    {"over-64", "a line has 64 short addresses, and more gear hangs on it",
     "Put what is too many on a second line, with a supply of its own.", true},
    {"line-overloaded",
     "what hangs on the line draws more than its supply gives, or supplies together give more than 250 mA",
     "Count 2 mA for each gear and what each controller says; put the rest on another line, or leave one "
     "supply only.",
     true},
    {"line-shorted", "the two wires touch, a pair is clamped wrongly, or a gear holds the line low",
     "Halve the line until the rest comes up, then the half that does not, until the place is found.", true},
    {"mains-on-line", "a phase was put on the pair",
     "Keep off everything that the pair goes to. Have the circuit isolated first; then replace the supply "
     "and the gear that it reached.",
     true},
    {"far-end-drop", "the pair is too thin or too long: more than 2 V fall on it",
     "Use a thicker pair, or feed the line in its middle.", true},
    {"polarity", "a device without a bridge is clamped the wrong way round", "Swap its two wires.", true},
    {"lines-joined", "two lines share a wire",
     "Part them, and search each alone: what either has kept of the other is to be readdressed.", true},
    {"old-groups", "it has kept its groups from a former life",
     "Remove it from all groups, or reset it, and give it its own."},
    {"old-scenes", "it has kept its scene levels from a former life; not in the scene is 255, not 0",
     "Remove it from the scene, which sets 255, or reset it."},
    {"lit-at-power-up", "its power on level is 254, as shipped",
     "Set the power on level: 255 for as it was, or the level that is wanted."},
    {"lit-at-line-failure", "its system failure level is 254, as shipped",
     "Set the system failure level to 255: it stays as it is."},
    {"fade-surprise", "its fade time is set to a code that lasts for half a minute and longer",
     "Set the fade time. Off and recall never fade: to fade out send level 0."},
    {"limits-clip", "its max or min level is set", "Read the max and the min level, and set them."},
    {"wrong-type", "another device type was named before the command, or a frame came in between",
     "Send enable device type and the command again, one right after the other."},
    {"mask-mistaken", "level 255 means no change, not full", "Send level 254, or recall max level."},
    {"unswitched", "its lamp has failed, or the load is not connected behind it: the gear itself answers",
     "Ask for its status: lamp failure shows there. Then have the lamp looked at.", true},
    {"powered-late", "gear whose mains has just come on hears nothing for up to 450 ms",
     "Wait a second after the mains, and send again."},
}};

}  // namespace

std::span<const protocol::FindingKind> finding_kinds() {
  return kinds;
}

std::string_view caution() {
  return "The pair is not SELV: it has basic insulation only and may carry mains when something is wrong. "
         "Isolate at the "
         "supply, lock off and prove dead with a checked tester before any cover is opened; competent "
         "persons only, under local "
         "rules.";
}

}  // namespace drybus::iec62386
