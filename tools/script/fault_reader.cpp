// Steps that break something, and those that mend it.

#include <algorithm>
#include <bit>

#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/keys.h"
#include "tools/script/site_reader.h"
#include "tools/script/step_reader.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::DeviceId;
using model::msg_as;
using model::Step;
using model::StepKind;
using model::tr;

// --- faults ---

void StepReader::read_fault(const Action& action, Steps& into) {
  const Fields fields{complaints_, *action.value, msg_as("what", "a fault"), keys::fault};
  if (action.value->kind != Node::Kind::map) return;
  Step step;
  step.kind = StepKind::fault;
  const Node* done = nullptr;
  bool fine = true;
  for (const Node::Entry& entry : action.value->entries) {
    const std::string_view key = entry.key->text;
    if (key == "bit_errors" || key == "telegrams") continue;
    if (std::find(keys::fault.begin(), keys::fault.end(), key) == keys::fault.end()) return;
    if (done != nullptr) {
      complaints_.add(entry.key->place,
                      tr("a step breaks one thing, and this one already has '{}'", done->text));
      return;
    }
    done = entry.key;
    if (key == "stuck" || key == "free") {
      step.fault.kind = key == "stuck" ? model::FaultKind::stuck : model::FaultKind::freed;
      fine = read_button_fault(*entry.value, step.fault);
    } else if (key == "deaf") {
      fine = read_deafness(*entry.value, fields, step.fault);
    } else if (key == "dead_load" || key == "new_load") {
      step.fault.kind = key == "dead_load" ? model::FaultKind::dead_load : model::FaultKind::new_load;
      fine = read_load_fault(*entry.value, step.fault);
    } else {
      fine = read_link_fault(*entry.value, key, fields, step.fault);
    }
  }
  if (done == nullptr) {
    complaints_.add(action.value->place, tr("no fault"),
                    tr("open, short, noisy, mend, stuck, free, deaf, dead_load or new_load"));
    return;
  }
  const Node* errors = fields.find("bit_errors");
  if (errors != nullptr && done->text != "noisy")
    complaints_.add(errors->place, tr("'bit_errors' goes with 'noisy'"));
  const Node* telegrams = fields.find("telegrams");
  if (telegrams != nullptr && done->text != "deaf")
    complaints_.add(telegrams->place, tr("'telegrams' goes with 'deaf'"));
  if (fine) add(into, std::move(step), action.place);
}

bool StepReader::read_link_fault(const Node& value, std::string_view key, const Fields& fields,
                                 model::Fault& fault) {
  fault.kind = key == "open"    ? model::FaultKind::open
               : key == "short" ? model::FaultKind::shorted
               : key == "noisy" ? model::FaultKind::noisy
                                : model::FaultKind::mend;
  if (fault.kind == model::FaultKind::noisy) {
    const Node* errors = fields.find("bit_errors");
    if (errors == nullptr) {
      complaints_.add(value.place, tr("how noisy?"), tr("bit_errors: 1 in 1000 beside it"));
      return false;
    }
    read_quantity_into(complaints_, errors, parse_bit_errors, fault.bit_error_ppb);
  }
  const auto name = read_text(complaints_, value);
  const auto link = name ? index_.link(value.place, *name) : std::nullopt;
  fault.link = link.value_or(0);
  return link.has_value();
}

bool StepReader::read_button_fault(const Node& value, model::Fault& fault) {
  Step step;
  if (!read_buttons(value, step)) return false;
  if (std::popcount(step.buttons) != 1) {
    complaints_.add(value.place, tr("more than one button"), tr("one button, such as P1 up"));
    return false;
  }
  fault.device = step.device;
  fault.button = static_cast<model::Button>(std::countr_zero(step.buttons));
  return true;
}

bool StepReader::read_deafness(const Node& value, const Fields& fields, model::Fault& fault) {
  fault.kind = model::FaultKind::deaf;
  fault.count = 1;
  read_whole_into(complaints_, fields.find("telegrams"), fault.count, 1);
  const auto name = read_text(complaints_, value);
  const auto device = name ? index_.device(value.place, *name) : std::nullopt;
  fault.device = device.value_or(model::no_device);
  return device.has_value();
}

bool StepReader::read_load_fault(const Node& value, model::Fault& fault) {
  const auto name = read_text(complaints_, value);
  const auto device = name ? index_.device(value.place, *name) : std::nullopt;
  if (!device) return false;
  fault.device = *device;
  if (!index_.site().is_plate(*device)) return true;
  complaints_.add(value.place, tr("{} is a plate: it has no load", *name), tr("a module"));
  return false;
}

}  // namespace drybus::tools
