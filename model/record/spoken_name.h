// What people are called when they are spoken of.
#pragma once

#include <string>

#include "model/people/script.h"

namespace drybus::model {

/// Whom no scenario gives a name is called so in each language: "installer".
std::string spoken_name(const Person& person);

}  // namespace drybus::model
