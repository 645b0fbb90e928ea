// For a process that is several commands after one another, as that of the tests.
#pragma once

namespace drybus::tools {

/// What was read and claimed so far was another command's. Files that are gone leave their numbers to new ones, which would be
/// taken for them.
void forget_claims();

}  // namespace drybus::tools
