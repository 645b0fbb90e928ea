// drybus compare: one scenario run twice, with the one firmware and with the other.
#pragma once

#include <boost/json/object.hpp>
#include <cstdint>

#include "model/people/script.h"
#include "tools/options/patience.h"

namespace drybus::tools {

/// Whether the two do the same (`same`, `alike`: how many things seen or heard before they part), where they part (`a`, `b`:
/// what happened and what led to it, itself first; `both`: what led to both), what differs (`differences`) and which
/// differences are known. Where one of them is the built-in devices, `rows` are those of the family's table that the device took
/// where they part. `path` is the scenario's.
boost::json::object compare_runs(const model::Scenario& a, const model::Scenario& b, std::uint64_t seed,
                                 const std::string& path, const Patience& patience);

}  // namespace drybus::tools
