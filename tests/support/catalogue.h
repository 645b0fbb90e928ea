// The catalogue that ships, for tests.
#pragma once

#include <doctest/doctest.h>

#include "tools/script/catalogue_reader.h"

namespace drybus::tests {

inline model::Catalogue shipped_catalogue() {
  auto reading = tools::read_catalogue(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml");
  REQUIRE(reading.ok());
  return reading.value();
}

}  // namespace drybus::tests
