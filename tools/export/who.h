// Whom an entry of the record is about.
#pragma once

#include <cstdint>

#include "model/record/trace.h"

namespace drybus::tools {

enum class Who : std::uint8_t { nobody, person, node };

/// What `who` means in entries of this kind: an index into Scenario::people, or a node of the network (most
/// are devices).
constexpr Who who_is(model::What what) {
  switch (what) {
    case model::What::began:
      return Who::nobody;
    case model::What::step:
    case model::What::walked:
    case model::What::arrived:
    case model::What::checked:
      return Who::person;
    case model::What::contact:
    case model::What::misread:
    case model::What::gesture:
    case model::What::mode:
    case model::What::channel:
    case model::What::refused:
    case model::What::timer:
    case model::What::queued:
    case model::What::deferred:
    case model::What::sent:
    case model::What::sent_whole:
    case model::What::gave_up:
    case model::What::dropped:
    case model::What::heard:
    case model::What::lost:
    case model::What::assign_ignored:
    case model::What::obeyed:
    case model::What::indicator:
    case model::What::level:
    case model::What::level_reached:
    case model::What::store_begun:
    case model::What::stored:
    case model::What::store_torn:
    case model::What::power_up:
    case model::What::blips:
    case model::What::blip_unshown:
    case model::What::power:
    case model::What::switches:
    case model::What::link:
    case model::What::stuck:
    case model::What::deaf:
    case model::What::said:
      return Who::node;
  }
  return Who::nobody;
}

}  // namespace drybus::tools
