// A call on a page: what drybus panel does where it is given one, or a site to begin one on.
#pragma once

#include <optional>
#include <string>

#include "tools/call/call_file.h"

namespace drybus::tools {

/// What is to be served: the call that a file holds, a new one on a site, or a new one of which all is asked for.
struct CallToServe {
  CallFile file;
  bool begun = false;  ///< there was none before
};

/// The call that `words` and `kept_in` ask for; nothing where they mean a bench. `path`: a file of any kind, or none;
/// `kept_in`: where a new call is to lie. Throws Unusable with everything that is wrong with it.
std::optional<CallToServe> call_to_serve(const std::optional<std::string>& path,
                                         const std::optional<std::string>& kept_in);

/// The first of call-1.yaml, call-2.yaml ... that is not there.
std::string new_call_name();

}  // namespace drybus::tools
