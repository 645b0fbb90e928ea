// What a command's help tells, as data: help, manual pages, completions and the reference are all made of it.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "tools/base/unusable.h"

namespace drybus::tools {

struct OptionDescription {
  std::string name;    ///< the long one, without dashes
  char letter = '\0';  ///< the short one; none has '\0'
  bool takes_value = false;
  std::string usual;         ///< the value unless said; empty where there is none
  std::string text;          ///< what it does
  bool writes_file = false;  ///< its value names a file to be written
};

struct CommandDescription {
  std::string
      usage;  ///< lines such as "drybus run SCENARIO [options]"; after an empty line, what else is to be said
  std::vector<OptionDescription> options;  ///< in the order of help, --help itself first
};

/// As a command's only argument: it tells what it takes (by throwing Described) instead of doing anything.
inline constexpr std::string_view describe_argument = "--describe";

/// Not a failure of anything; whoever did not ask for it takes it for bad usage.
class Described : public Unusable {
 public:
  explicit Described(CommandDescription description)
      : Unusable("unknown option '--describe'"), description_(std::move(description)) {}
  [[nodiscard]] const CommandDescription& description() const { return description_; }

 private:
  CommandDescription description_;
};

}  // namespace drybus::tools
