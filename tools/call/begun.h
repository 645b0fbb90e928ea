// The text of a call in which nothing is told yet.
#pragma once

#include <filesystem>
#include <string>

#include "tools/script/reader.h"

namespace drybus::tools {

/// What is known of a site before anything went wrong there.
enum class Before {
  as_the_site_says,
  addressed,  ///< every module of ours had the address that is meant for it
  fresh       ///< they are all as from the factory
};

/// A report on a site that is written out. `path`: where it will lie.
std::string begun_with(const LoadedScenario& site, Before before, const std::filesystem::path& path);
/// A report on a site that stays in its own file.
std::string begun_on(const std::filesystem::path& site, const std::filesystem::path& path,
                     const std::string& title);

/// What the modules of a report had before: as_the_site_says where some had their address and some had not.
Before before_of(const LoadedReport& report);

}  // namespace drybus::tools
