// The catalogue that ships, for tests.
#pragma once

#include "model/diagnosis/catalogue.h"

namespace drybus::tests {

model::Catalogue shipped_catalogue();

}  // namespace drybus::tests
