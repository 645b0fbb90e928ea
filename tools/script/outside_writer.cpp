// What a device outside did, as read_outside reads it back.
#include "model/family/telegram.h"
#include "model/firmware/outside.h"
#include "tools/script/outside_reader.h"
#include "tools/script/quantity.h"
#include "tools/script/scenario_writer.h"

namespace drybus::tools {

void ScenarioWriter::write_outside() {
  const auto outside = model::outside_of(site_);
  if (!outside) return;
  key("outside") << YAML::BeginMap;
  key(site_.name(outside->device()));
  if (outside->steps().empty()) out_ << YAML::Flow;
  out_ << YAML::BeginSeq;
  for (const model::OutsideStep& step : outside->steps()) {
    out_ << YAML::Flow << YAML::BeginMap;
    key("at") << exact_duration(step.at.time_since_epoch());
    write_act(step.act);
    out_ << YAML::EndMap;
  }
  out_ << YAML::EndSeq << YAML::EndMap;
}

void ScenarioWriter::write_act(const model::OutsideAct& act) {
  using Kind = model::OutsideAct::Kind;
  switch (act.kind) {
    case Kind::send:
      key("send") << YAML::BeginMap;
      key("kind") << word(to_string(act.telegram.kind));
      key("site") << int{act.telegram.site};
      key("zone") << int{act.telegram.zone};
      key("channel") << int{act.telegram.channel};
      if (act.telegram.argument != 0) key("argument") << int{act.telegram.argument};
      out_ << YAML::EndMap;
      return;
    case Kind::show:
      key("show") << word(to_string(act.pattern));
      return;
    case Kind::level:
      key("level") << exact_percent(act.level);
      if (act.within > sim::Duration::zero()) key("within") << exact_duration(act.within);
      return;
    case Kind::mode:
      key("mode") << word(to_string(act.mode));
      key("because") << word(mode_reasons()[static_cast<std::size_t>(act.reason)]);
      return;
    case Kind::stored:
      key("stored") << YAML::BeginMap;
      key("site") << int{act.address.site};
      key("zone") << int{act.address.zone};
      key("channel") << int{act.address.channel};
      out_ << YAML::EndMap;
      key("power_up") << word(to_string(act.power_up));
      return;
  }
}

}  // namespace drybus::tools
