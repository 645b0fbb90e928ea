// What may stand in the place of a value or a word, for completions and placeholders.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "tools/options/description.h"

namespace drybus::tools {

enum class ValueKind { none, file, folder, choice, devices, questions, families };

/// What the value of an option is; `none` where nothing can be offered.
ValueKind value_kind(const OptionDescription& option);

/// The words of a choice, read off the option's help: "text, json or markdown (a hand-out)".
std::vector<std::string> choices_in(std::string_view text);

/// What stands for the value in a synopsis: "FILE".
std::string_view placeholder(const OptionDescription& option);

/// What a command's words are: the first, and those after it. Files unless another kind is known.
ValueKind word_kind(std::string_view command, bool first);

/// What `drybus names` is asked for them: "devices"; empty for kinds that need no asking.
std::string_view asked_names(ValueKind kind);

}  // namespace drybus::tools
