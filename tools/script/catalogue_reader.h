// Reads the catalogue of slips and faults, which is found like the families: beside their folder.
#pragma once

#include <filesystem>
#include <optional>

#include "model/diagnosis/catalogue.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// A catalogue file ("drybus-catalogue: 1"), in which every cause must stand.
Reading<model::Catalogue> read_catalogue(const std::filesystem::path& path, const ReadOptions& options = {});

/// `catalogue.yaml` beside the first of the families' folders where there is one, seen from `folder`.
std::optional<std::filesystem::path> find_catalogue(const std::filesystem::path& folder,
                                                    const ReadOptions& options = {});

}  // namespace drybus::tools
