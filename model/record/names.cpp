// Words for the enumerations of the record.
#include "model/record/trace.h"

namespace drybus::model {

std::string_view to_string(What what) {
  switch (what) {
    case What::began:
      return "began";
    case What::step:
      return "step";
    case What::walked:
      return "walked";
    case What::arrived:
      return "arrived";
    case What::contact:
      return "contact";
    case What::misread:
      return "misread";
    case What::gesture:
      return "gesture";
    case What::mode:
      return "mode";
    case What::channel:
      return "channel";
    case What::refused:
      return "refused";
    case What::timer:
      return "timer";
    case What::queued:
      return "queued";
    case What::deferred:
      return "deferred";
    case What::sent:
      return "sent";
    case What::sent_whole:
      return "sent-whole";
    case What::gave_up:
      return "gave-up";
    case What::dropped:
      return "dropped";
    case What::heard:
      return "heard";
    case What::lost:
      return "lost";
    case What::assign_ignored:
      return "assign-ignored";
    case What::obeyed:
      return "obeyed";
    case What::indicator:
      return "indicator";
    case What::level:
      return "level";
    case What::level_reached:
      return "level-reached";
    case What::store_begun:
      return "store-begun";
    case What::stored:
      return "stored";
    case What::store_torn:
      return "store-torn";
    case What::power_up:
      return "power-up";
    case What::blips:
      return "blips";
    case What::blip_unshown:
      return "blip-unshown";
    case What::power:
      return "power";
    case What::switches:
      return "switches";
    case What::link:
      return "link";
    case What::stuck:
      return "stuck";
    case What::deaf:
      return "deaf";
    case What::checked:
      return "checked";
    case What::said:
      return "said";
  }
  return "?";
}

}  // namespace drybus::model
