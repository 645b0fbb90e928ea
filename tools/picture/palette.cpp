#include "tools/picture/palette.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <array>
#include <set>

namespace drybus::tools::picture {

std::string_view colour(Ink ink) {
  switch (ink) {
    case Ink::ink:
      return "#1a1a1a";
    case Ink::quiet:
      return "#4d4d4d";
    case Ink::hidden:
      return "#00457a";
    case Ink::alarm:
      return "#9c3500";
    case Ink::paper:
      return "#ffffff";
  }
  return "";
}

std::string_view colour(Ground ground) {
  switch (ground) {
    case Ground::paper:
      return "#ffffff";
    case Ground::unseen:
      return "#e2e2e2";
    case Ground::hidden:
    case Ground::bus:
      return "#e8f1f9";
    case Ground::alarm:
      return "#9c3500";
  }
  return "";
}

std::string_view name(Ink ink) {
  switch (ink) {
    case Ink::ink:
      return "ink";
    case Ink::quiet:
      return "quiet";
    case Ink::hidden:
      return "hidden";
    case Ink::alarm:
      return "alarm";
    case Ink::paper:
      return "white";
  }
  return "";
}

std::string_view name(Ground ground) {
  switch (ground) {
    case Ground::paper:
      return "paper";
    case Ground::unseen:
      return "unseen";
    case Ground::hidden:
      return "hidden";
    case Ground::bus:
      return "bus";
    case Ground::alarm:
      return "alarm";
  }
  return "";
}

std::string_view class_name(Look look) {
  constexpr sim::ByEnum<Look, std::string_view> names = {"lane-ground",
                                                         "unseen-ground",
                                                         "hidden-ground",
                                                         "bus-ground",
                                                         "bus-line",
                                                         "time-rule",
                                                         "break-gap",
                                                         "break-edge",
                                                         "stay",
                                                         "walk",
                                                         "wait",
                                                         "press",
                                                         "press-stuck",
                                                         "setup-frame",
                                                         "setup-left",
                                                         "time-out-end",
                                                         "hidden-frame",
                                                         "lamp-dark",
                                                         "lamp-blip",
                                                         "lamp-breathe",
                                                         "lamp-blink",
                                                         "lamp-steady",
                                                         "lamp-refuse",
                                                         "load",
                                                         "load-edge",
                                                         "load-zero",
                                                         "power-cut",
                                                         "telegram",
                                                         "telegram-assign",
                                                         "telegram-beacon",
                                                         "telegram-collided",
                                                         "lead",
                                                         "lead-beacon",
                                                         "lead-lost",
                                                         "head-heard",
                                                         "head-obeyed",
                                                         "head-took",
                                                         "head-ignored",
                                                         "cross",
                                                         "length",
                                                         "finding",
                                                         "disc",
                                                         "eye",
                                                         "pupil",
                                                         "eye-closed",
                                                         "note",
                                                         "tick",
                                                         "wrong"};
  return names[look];
}

std::string_view style_sheet() {
  return R"(
.lane-ground{fill:#fff;stroke:#b8b8b8;stroke-width:1}
.unseen-ground{fill:#e2e2e2}
.hidden-ground{fill:#e8f1f9;stroke:#0072b2;stroke-width:1;stroke-dasharray:2 3}
.bus-ground{fill:#e8f1f9;stroke:#0072b2;stroke-width:1;stroke-dasharray:2 3}
.bus-line{fill:none;stroke:#00457a;stroke-width:2.5}
.time-rule{fill:none;stroke:#8a8a8a;stroke-width:1;stroke-dasharray:2 4}
.break-gap{fill:#fff}
.break-edge{fill:none;stroke:#8a8a8a;stroke-width:1.1}
.stay{fill:#f4f4f4;stroke:#4d4d4d;stroke-width:1.2}
.walk{fill:none;stroke:#1a1a1a;stroke-width:2.5;stroke-dasharray:7 6}
.wait{fill:#8a8a8a}
.press{fill:#1a1a1a}
.press-stuck{fill:url(#cross-hatch);stroke:#1a1a1a;stroke-width:1.5}
.setup-frame{fill:#fff;stroke:#00457a;stroke-width:1.3;stroke-dasharray:4 3}
.setup-left{fill:url(#hatch);stroke:#00457a;stroke-width:1.5}
.time-out-end{fill:#fff;stroke:#9c3500;stroke-width:2}
.hidden-frame{fill:#e8f1f9;stroke:#00457a;stroke-width:1.3;stroke-dasharray:4 3}
.lamp-dark{fill:none;stroke:#8a8a8a;stroke-width:1.6}
.lamp-blip{fill:#e69f00;stroke:#1a1a1a;stroke-width:1.4}
.lamp-breathe{fill:url(#wave)}
.lamp-blink{fill:url(#blocks)}
.lamp-steady{fill:#e69f00;stroke:#1a1a1a;stroke-width:1.2}
.lamp-refuse{fill:url(#crosses)}
.load{fill:url(#rays)}
.load-edge{fill:none;stroke:#7a5400;stroke-width:1.5}
.load-zero{fill:none;stroke:#8a8a8a;stroke-width:1}
.power-cut{fill:url(#cross-hatch)}
.telegram{fill:#fff;stroke:#00457a;stroke-width:1.8}
.telegram-assign{fill:#00457a;stroke:#00457a;stroke-width:1.8}
.telegram-beacon{fill:#00457a}
.telegram-collided{fill:#d55e00;stroke:#1a1a1a;stroke-width:1.2;stroke-linejoin:round}
.lead{fill:none;stroke:#00457a;stroke-width:1.5}
.lead-beacon{fill:none;stroke:#0072b2;stroke-width:1;stroke-dasharray:1 3}
.lead-lost{fill:none;stroke:#9c3500;stroke-width:1.8;stroke-dasharray:5 5}
.head-heard{fill:#fff;stroke:#00457a;stroke-width:1.5}
.head-obeyed{fill:#00457a}
.head-took{fill:#00457a;stroke:#fff;stroke-width:1}
.head-ignored{fill:#fff;stroke:#9c3500;stroke-width:2}
.cross{fill:none;stroke:#9c3500;stroke-width:3.2}
.length{fill:#1a1a1a;stroke:#1a1a1a;stroke-width:1.2}
.finding{fill:#d55e00}
.disc{fill:#9c3500}
.eye{fill:#fff;stroke:#1a1a1a;stroke-width:1.6}
.pupil{fill:#1a1a1a}
.eye-closed{fill:none;stroke:#00457a;stroke-width:1.7;stroke-linecap:round}
.note{fill:#fff;stroke:#1a1a1a;stroke-width:1.5}
.tick{fill:none;stroke:#1a1a1a;stroke-width:2.6}
.wrong{fill:none;stroke:#9c3500;stroke-width:2.8}
)";
}

std::string label_sheet(const Picture& picture, bool plain) {
  std::set<std::string> rules;
  for (const Label& label : picture.labels) {
    rules.insert(fmt::format(".s{:.0f}{{font-size:{:.0f}px}}", label.style.size, label.style.size));
    // The ground around the letters keeps whatever is drawn below from touching them.
    const std::string ground =
        plain ? ""
              : fmt::format(";stroke:{};stroke-width:4;stroke-linejoin:round;paint-order:stroke",
                            colour(label.ground));
    rules.insert(fmt::format(".{}-on-{}{{fill:{}{}}}", name(label.ink), name(label.ground), colour(label.ink),
                             ground));
  }
  return fmt::format(".labels{{pointer-events:none}}.bold{{font-weight:bold}}\n{}\n", fmt::join(rules, "\n"));
}

std::string_view textures() {
  return R"SVG(
<pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="6" height="6" fill="#fff"/><rect width="2.4" height="6" fill="#0072b2"/></pattern>
<pattern id="rays" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="#fbe6b0"/><rect width="1.2" height="4" fill="#d79a1e"/></pattern>
<pattern id="cross-hatch" width="7" height="7" patternUnits="userSpaceOnUse"><path d="M0 0L7 7M7 0L0 7" fill="none" stroke="#4d4d4d" stroke-width="1.2"/></pattern>
<pattern id="wave" width="20" height="13" patternUnits="userSpaceOnUse"><path d="M-5 6.5Q0 -2.5 5 6.5T15 6.5T25 6.5" fill="none" stroke="#8a5a00" stroke-width="2.4"/></pattern>
<pattern id="blocks" width="14" height="60" patternUnits="userSpaceOnUse"><rect x="1" width="7" height="60" fill="#e69f00" stroke="#1a1a1a" stroke-width="1"/></pattern>
<pattern id="crosses" width="13" height="13" patternUnits="userSpaceOnUse"><rect width="13" height="13" fill="#fff"/><path d="M2 2L11 11M11 2L2 11" fill="none" stroke="#1a1a1a" stroke-width="2.2"/></pattern>
)SVG";
}

}  // namespace drybus::tools::picture
