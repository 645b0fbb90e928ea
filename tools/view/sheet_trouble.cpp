#include "tools/view/sheet_trouble.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "model/planning/ways_into_setup.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/xml.h"
#include "tools/view/plan_words.h"

namespace drybus::tools {

namespace {

using model::duration_text;
using model::tr;

/// In the words of one family, as its buttons and times are.
class Rows {
 public:
  explicit Rows(const model::Family& family) : plate_(family.plate), module_(family.module) {}

  std::string html() {
    module_stays_dark();
    plate_stays_dark();
    plate_refuses();
    if (module_.ask > sim::Duration::zero()) {
      asks_in_vain();
    } else {
      stopped_too_soon();
      did_not_hear();
    }
    if (module_.confirm > sim::Duration::zero()) was_not_confirmed();
    two_blink();
    add(tr("The wrong load flashes when a channel is stepped to"),
        tr("That channel is held by another module. Check the schedule before anything is assigned."));
    return std::move(html_);
  }

 private:
  void add(std::string_view seen, std::string_view remedy) {
    html_ += fmt::format("<tr><td>{}</td><td>{}</td></tr>\n", xml_escaped(seen), xml_escaped(remedy));
  }
  [[nodiscard]] std::string button(model::Button which) const { return plate_.name_of(which); }
  [[nodiscard]] bool by_supply() const { return module_.supply_gesture.times != 0; }

  void module_stays_dark() {
    if (by_supply()) {
      add(tr("A module does not blink after its supply was switched"),
          tr("Leave the supply on for {} at least; then off and on {} times once more, each time on "
             "for less "
             "than that. Should it stay dark, it has no power, or is faulty: leave it for a "
             "competent person.",
             duration_text(module_.supply_gesture.on_for), module_.supply_gesture.times));
    } else {
      add(tr("A module does not blink after its button was held"),
          tr("Hold it once more, for {} at least. Should it stay dark, it has no power, or its button is "
             "faulty: leave it for a competent person.",
             duration_text(module_.setup_hold)));
    }
  }

  void plate_stays_dark() {
    add(tr("A plate does not blink after it was put in setup"),
        tr("Hold {} for {} at least. Another plate in setup is left first, with {}.", gesture_text(plate_),
           duration_text(plate_.setup_hold), button(plate_.leave)));
  }

  void plate_refuses() {
    const bool channel_zero = model::first_channel(plate_) == 0 && plate_.assign != model::no_button;
    const std::string next = button(plate_.next), previous = button(plate_.previous);
    add(tr("A plate shows that it refuses"),
        channel_zero
            ? tr("It stands at channel 0, beyond its last channel or at zone 0. Step to the channel that is "
                 "wanted, with {} or {}; with zone 0 its switches have to be set.",
                 next, previous)
            : tr("It stands beyond its last channel or at zone 0. Step to the channel that is wanted, with "
                 "{} "
                 "or {}; with zone 0 its switches have to be set.",
                 next, previous));
  }

  void asks_in_vain() {
    add(tr("A module goes on blinking"),
        tr("It has asked, and nobody has answered. See that the plate of its zone still blinks (its "
           "setup lasts "
           "{}), and put it in setup if it does not, at the channel before the one that is wanted: "
           "the module "
           "asks again every {}, for {} in all. If that does not help, the wiring between them is "
           "to be looked "
           "at by a competent person, with the caution above.",
           duration_text(plate_.time_out.after), duration_text(module_.ask),
           duration_text(module_.time_out.after)));
  }

  void stopped_too_soon() {
    add(tr("A module has stopped blinking before assign was pressed"),
        tr("Its setup has timed out (after {}). Go back, put it in setup again, and go on from "
           "there. Look at "
           "the plate as well: its own setup lasts {}.",
           duration_text(module_.time_out.after), duration_text(plate_.time_out.after)));
  }

  void did_not_hear() {
    add(module_.confirm > sim::Duration::zero()
            ? tr("A module goes on blinking after assign was pressed, and is not steady")
            : tr("A module goes on blinking after assign was pressed"),
        tr("It did not hear. See that the plate still blinks, step to the channel again and press "
           "{}. If that "
           "does not help, the wiring between them is to be looked at by a competent person, with "
           "the caution "
           "above.",
           button(plate_.assign)));
  }

  void was_not_confirmed() {
    add(tr("A module is not steady any more, and nobody has pressed its button"),
        tr("The offered address was not confirmed within {}, and the old one holds. Do the line again.",
           duration_text(module_.confirm)));
  }

  void two_blink() {
    add(tr("Two modules blink"),
        module_.button.empty()
            ? tr("Both would take the same address. Offer nothing until both have timed out, after {}.",
                 duration_text(module_.time_out.after))
            : tr("Both would take the same address. Press {} on the one that is not wanted.",
                 module_.button));
  }

  const model::PlateFamily& plate_;
  const model::ModuleFamily& module_;
  std::string html_;
};

}  // namespace

std::string trouble_html(const model::Site& site) {
  std::vector<const model::Family*> families;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<model::DeviceId>(i);
    const model::Family* family = &site.family_of(device);
    if (!site.is_neighbour(device) && std::find(families.begin(), families.end(), family) == families.end())
      families.push_back(family);
  }
  std::string html = fmt::format(
      "<h2>{}</h2>\n<table><thead><tr><th class=\"seen\">{}</th><th>{}</th></tr></thead><tbody>\n",
      tr("When a lamp does not show what it should"), tr("What is seen"), tr("What to do"));
  for (const model::Family* family : families) {
    if (families.size() > 1)
      html += fmt::format("<tr class=\"room\"><th class=\"room\" colspan=\"2\">{}</th></tr>\n",
                          xml_escaped(family->name));
    html += Rows{*family}.html();
  }
  return html + "</tbody></table>\n";
}

}  // namespace drybus::tools
