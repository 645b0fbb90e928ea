#include "model/record/observables.h"

#include "model/record/trace.h"

namespace drybus::model {

bool is_observable(const sim::Entry& entry) {
  switch (what(entry)) {
    case What::indicator:
    case What::level:
    case What::level_reached:
    case What::sent:
    case What::sent_whole:
      return true;
    case What::began:
    case What::step:
    case What::walked:
    case What::arrived:
    case What::contact:
    case What::misread:
    case What::gesture:
    case What::mode:
    case What::channel:
    case What::refused:
    case What::timer:
    case What::queued:
    case What::deferred:
    case What::gave_up:
    case What::dropped:
    case What::heard:
    case What::lost:
    case What::assign_ignored:
    case What::obeyed:
    case What::store_begun:
    case What::stored:
    case What::store_torn:
    case What::power_up:
    case What::blips:
    case What::blip_unshown:
    case What::power:
    case What::switches:
    case What::link:
    case What::stuck:
    case What::deaf:
    case What::checked:
    case What::said:
      return false;
  }
  return false;
}

bool is_alike(const sim::Entry& a, const sim::Entry& b) {
  return a.at == b.at && a.kind == b.kind && a.who == b.who && a.a == b.a && a.b == b.b;
}

sim::Fingerprint observable_digest(const sim::Record& record) {
  sim::Digest digest;
  for (const sim::Entry& entry : record.entries()) {
    if (!is_observable(entry)) continue;
    digest.add(static_cast<std::uint64_t>(entry.at.time_since_epoch().count()));
    digest.add(entry.kind | digest.narrow(entry.who, 16) | static_cast<std::uint64_t>(entry.a) << 32);
    digest.add(entry.b);
  }
  return digest.value();
}

}  // namespace drybus::model
