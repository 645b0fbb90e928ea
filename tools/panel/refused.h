// Why the panel does not do what somebody asked for.
#pragma once

#include <stdexcept>
#include <string>
#include <string_view>

namespace drybus::tools {

enum class RefusalCode {
  busy,      ///< the installer is
  controls,  ///< the asker does not hold them
  unknown,   ///< no such device, place, button ...
  message,   ///< not understood
  limit,     ///< a bound of the server
  not_now,   ///< the bench is not in a state for it
};

/// "not_now"
std::string_view to_string(RefusalCode code);

class Refused : public std::runtime_error {
 public:
  Refused(RefusalCode code, const std::string& why) : std::runtime_error(why), code_(code) {}
  [[nodiscard]] RefusalCode code() const { return code_; }

 private:
  RefusalCode code_;
};

}  // namespace drybus::tools
