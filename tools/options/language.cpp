#include "tools/options/language.h"

#include <cstdlib>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::tr;

namespace {

constexpr std::string_view language_option = "--language";

/// An option may be cut short, as long as it can be told from the others.
bool is_cut_short(std::string_view name) {
  return name.size() > 3 && language_option.starts_with(name);
}

}  // namespace

std::string language_of_environment() {
  for (const char* name : {"LC_ALL", "LC_MESSAGES", "LANG"}) {
    const char* locale = std::getenv(name);  // NOLINT(concurrency-mt-unsafe): before there are threads
    if (locale != nullptr && *locale != '\0') return language_of_locale(locale);
  }
  return "en";
}

std::string language_asked(Arguments words) {
  for (std::size_t i = 0; i < words.size() && words[i] != "--"; ++i) {
    const std::size_t equals = words[i].find('=');
    if (!is_cut_short(std::string_view{words[i]}.substr(0, equals))) continue;
    if (equals != std::string::npos) return known_language(words[i].substr(equals + 1));
    if (i + 1 < words.size()) return known_language(words[i + 1]);
  }
  return language_of_environment();
}

const std::string& known_language(const std::string& name) {
  if (is_language(name)) return name;
  throw Unusable{tr("--language: unknown language '{}'; expected {}.{}", harmless(name), language_choice(),
                    did_you_mean(name, languages()))};
}

std::string language_choice() {
  std::string text;
  for (const std::string& name : languages()) text = text.empty() ? name : tr("{} or {}", text, name);
  return text;
}

void offer_language(CommandLine& line, const std::string& help) {
  line.add()("language", po::value<std::string>(), help.c_str());
}

std::optional<std::string> read_language(const CommandLine& line) {
  return line.optional_text("language");
}

}  // namespace drybus::tools
