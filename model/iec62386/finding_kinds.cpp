#include "model/iec62386/finding_kinds.h"

#include <array>

#include "model/words/words.h"

namespace drybus::iec62386 {

namespace {

using model::msg;
using Kind = protocol::FindingKind;

constexpr std::array<Kind, sim::count_of<FindingId>> kinds = {{
    {"shared-short-address",
     msg("a gear came from another site with its number, a new batch was numbered from 0 beside the old one, "
         "or two lines became one"),
     msg("Take the number away from one of them by searching for it (initialise that short address, search), "
         "and give it a free one.")},
    {"no-short-address",
     msg("it is new from the box, had no power while the others were addressed, or never heard its number"),
     msg("Address the new ones only: initialise those without an address, search, program, terminate. The "
         "others keep theirs.")},
    {"random-twins", msg("both drew the same random address, as poor generators do"),
     msg("Initialise the one short address that they share, randomise, search again: each is then found and "
         "gets a number of its own.")},
    {"init-ran-out", msg("more than 15 minutes went by between initialise and the last number"),
     msg("Initialise those without an address and go on. Do not randomise those that are done. With many "
         "lamps give all numbers first, in one go, and name the lamps afterwards.")},
    {"left-initialised",
     msg("nobody sent terminate: it was forgotten, or the tool was pulled out in the middle"),
     msg("Send terminate, or wait 15 minutes; only then search anew.")},
    {"randomised-again", msg("randomise was said to all, where only the new ones were to be addressed"),
     msg("Their short addresses are as they were: take the inventory of the line anew, by short address.")},
    {"two-searchers", msg("a second tool or controller addresses on the same line"),
     msg("Let one of them stop, unplug it or make it quiet; send terminate, and begin afresh with the "
         "other.")},
    {"twice-missed",
     msg("the second frame was lost, came later than 100 ms, or another frame came in between"),
     msg("Send the setting again, and read it back.")},
    {"dtr-trodden", msg("another sender wrote DTR0 between the value and the command that used it"),
     msg("Send value and command as one transaction, at priority 1, and read the setting back.")},
    {"over-64", msg("a line has 64 short addresses, and more gear hangs on it"),
     msg("Put what is too many on a second line, with a supply of its own."), true},
    {"line-overloaded",
     msg("what hangs on the line draws more than its supply gives, or supplies together give more than 250 "
         "mA"),
     msg("Count 2 mA for each gear and what each controller says; put the rest on another line, or leave one "
         "supply only."),
     true},
    {"line-shorted", msg("the two wires touch, a pair is clamped wrongly, or a gear holds the line low"),
     msg("Halve the line until the rest comes up, then the half that does not, until the place is found."),
     true},
    {"mains-on-line", msg("a phase was put on the pair"),
     msg("Keep off everything that the pair goes to. Have the circuit isolated first; then replace the "
         "supply and the gear that it reached."),
     true},
    {"far-end-drop", msg("the pair is too thin or too long: more than 2 V fall on it"),
     msg("Use a thicker pair, or feed the line in its middle."), true},
    {"polarity", msg("a device without a bridge is clamped the wrong way round"), msg("Swap its two wires."),
     true},
    {"lines-joined", msg("two lines share a wire"),
     msg("Part them, and search each alone: what either has kept of the other is to be readdressed."), true},
    {"old-groups", msg("it has kept its groups from a former life"),
     msg("Remove it from all groups, or reset it, and give it its own.")},
    {"old-scenes", msg("it has kept its scene levels from a former life; not in the scene is 255, not 0"),
     msg("Remove it from the scene, which sets 255, or reset it.")},
    {"lit-at-power-up", msg("its power on level is 254, as shipped"),
     msg("Set the power on level: 255 for as it was, or the level that is wanted.")},
    {"lit-at-line-failure", msg("its system failure level is 254, as shipped"),
     msg("Set the system failure level to 255: it stays as it is.")},
    {"fade-surprise", msg("its fade time is set to a code that lasts for half a minute and longer"),
     msg("Set the fade time. Off and recall never fade: to fade out send level 0.")},
    {"limits-clip", msg("its max or min level is set"), msg("Read the max and the min level, and set them.")},
    {"wrong-type", msg("another device type was named before the command, or a frame came in between"),
     msg("Send enable device type and the command again, one right after the other.")},
    {"mask-mistaken", msg("level 255 means no change, not full"),
     msg("Send level 254, or recall max level.")},
    {"unswitched",
     msg("its lamp has failed, or the load is not connected behind it: the gear itself answers"),
     msg("Ask for its status: lamp failure shows there. Then have the lamp looked at."), true},
    {"powered-late", msg("gear whose mains has just come on hears nothing for up to 450 ms"),
     msg("Wait a second after the mains, and send again.")},
}};

}  // namespace

std::span<const protocol::FindingKind> finding_kinds() {
  return kinds;
}

std::string_view caution() {
  return msg(
      "The pair is not SELV: it has basic insulation only and may carry mains when something is wrong. "
      "Isolate at the supply, lock off and prove dead with a checked tester before any cover is opened; "
      "competent persons only, under local rules.");
}

}  // namespace drybus::iec62386
