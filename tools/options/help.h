// What the library of options says, told in the words that are spoken.
#pragma once

#include <boost/program_options.hpp>
#include <string>
#include <string_view>

namespace drybus::tools {

/// The list of options as the library shows it.
std::string help_of(const boost::program_options::options_description& options);

/// "drybus run SCENARIO [options]": names and places stay as they are.
std::string usage_in_words_spoken(std::string_view usage);

/// What is wrong with a command line.
std::string complaint_of(const boost::program_options::error& error);

/// The short name of an option; '\0' where it has none.
char letter_of(const boost::program_options::option_description& option);

}  // namespace drybus::tools
