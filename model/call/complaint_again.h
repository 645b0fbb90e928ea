// What somebody called for, tried once more: a proof that leaves it out proves nothing to them.
#pragma once

#include <vector>

#include "model/call/question.h"

namespace drybus::model {

/// For every complaint: what was done before it is done again, and what was complained of is looked at. `sound`: as things
/// stand when the cure has worked, which says what is right. Left out is what nobody can do again by itself, in the midst of
/// setup, and what `asked` has in it already.
std::vector<Question> complaints_again(const Report& told, const World& sound,
                                       const std::vector<Question>& asked);

}  // namespace drybus::model
