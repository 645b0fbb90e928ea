// What tests of pictures ask of them.
#pragma once

#include <string>
#include <vector>

#include "model/run/run.h"
#include "tools/picture/page.h"

namespace drybus::tests {

/// The whole run in one picture.
tools::picture::Picture picture_of(const model::Scenario& scenario,
                                   const tools::picture::PictureOptions& options = {});

std::vector<tools::picture::Picture> chapters_of(const model::Scenario& scenario,
                                                 const tools::picture::PictureOptions& options = {});

/// All pairs of labels that share some of the page, all that leave it, and all that found no room, in words.
std::vector<std::string> misplaced(const tools::picture::Picture& picture);

/// Checks that there are none.
void check_places(const tools::picture::Picture& picture, const std::string& what);

/// Whether some label holds the text.
bool says(const tools::picture::Picture& picture, std::string_view text);

/// Steps of all kinds, at all paces, by two people on a site of any size, with labels of any length.
model::Scenario random_scenario(std::uint64_t seed);

}  // namespace drybus::tests
