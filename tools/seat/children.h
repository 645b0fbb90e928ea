// Work in processes of their own, for code that may bring down the process that it runs in.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "model/words/words.h"
#include "tools/seat/confine.h"

namespace drybus::tools {

/// What is said of a firmware after how its process ended (by in_words_spoken).
inline constexpr const char* could_not_be_stopped =
    model::msg("the firmware has done something that could not be stopped in time").data();

/// Runs `work` in a child process, with the same standard streams, and returns what it returns. Only a child that says
/// that it came to its end has done so, confined (confine.h): one that dies, exits on the way, hangs in somebody's firmware or stands still
/// is ended and told of on standard error, with what it was doing; then the result is exit_failed.
int in_child(const std::function<int()>& work, Confinement confinement);

/// work(0) ... work(count - 1), each in a child process of its own, in a group of its own, confined to a scenario, at most `jobs` at a time (0: one for each
/// core); what each returned, in that order. For one whose process did not come to its end (see above), lost(index, how)
/// says what to return: `how` is such as "the process ended with SIGKILL, in its handler for timer, for M3 at 0:41.3
/// (a.so)". Throws Unusable when one of them read a file that an option is to write. REQUIRES: this process has no other
/// thread.
std::vector<std::string> in_children(std::size_t count, std::size_t jobs,
                                     const std::function<std::string(std::size_t)>& work,
                                     const std::function<std::string(std::size_t, const std::string&)>& lost);

}  // namespace drybus::tools
