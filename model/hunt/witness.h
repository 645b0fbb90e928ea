// Makes of a scenario that tells two device logics apart one that passes with the first and fails with the second, by
// itself: a witness looks where and when something of the second is otherwise.
#pragma once

#include "model/people/script.h"

namespace drybus::model {

/// How far a scenario by itself tells the second logic from the first.
enum class Telling : std::uint8_t {
  by_itself,    ///< it passed with the one and failed with the other before
  by_witness,   ///< now it does: somebody was added who looks
  not_by_facts  ///< no device ever shows or holds anything else: the difference is in telegrams, or in a moment's timing
};

/// `found` runs with the first logic, `second` says how devices react otherwise (Site::logic and family).
Telling add_witness(Scenario& found, const Scenario& second);

}  // namespace drybus::model
