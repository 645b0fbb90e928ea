#include "tests/support/catalogue.h"

#include <doctest/doctest.h>

#include "tools/script/catalogue_reader.h"

namespace drybus::tests {

model::Catalogue shipped_catalogue() {
  auto reading = tools::read_catalogue(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml");
  REQUIRE(reading.ok());
  return reading.value();
}

}  // namespace drybus::tests
