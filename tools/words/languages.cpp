#include "tools/words/languages.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <sstream>

namespace drybus::tools {

namespace {

constexpr std::string_view english = "en";

struct Spoken {
  Catalogue catalogue;
  std::string for_page;
};

const std::map<std::string, Spoken, std::less<>>& all() {
  static const auto made = [] {
    std::map<std::string, Spoken, std::less<>> known;
    for (const WordFile& file : word_files()) {
      Catalogue catalogue = Catalogue::from_mo(file.content);
      std::string text = catalogue.page_json();
      std::string language = catalogue.language();
      known.emplace(std::move(language), Spoken{std::move(catalogue), std::move(text)});
    }
    return known;
  }();
  return made;
}

std::string_view trimmed_blanks(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

/// Thousandths; 1000 where nothing is said, 0 where it cannot be read.
int weight_of(std::string_view parameters) {
  const std::size_t at = parameters.find("q=");
  if (at == std::string_view::npos) return 1000;
  const std::string_view text = parameters.substr(at + 2);
  double weight = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), weight);
  return error == std::errc{} ? static_cast<int>(std::clamp(weight, 0.0, 1.0) * 1000) : 0;
}

}  // namespace

std::vector<std::string> languages() {
  std::vector<std::string> names{std::string{english}};
  for (const auto& [name, ignored] : all()) names.push_back(name);
  std::sort(names.begin(), names.end());
  return names;
}

const Catalogue* words_of(std::string_view language) {
  const auto found = all().find(language);
  return found == all().end() ? nullptr : &found->second.catalogue;
}

std::string best_language(std::string_view accepted) {
  std::string best{english};
  int most = 0;
  std::istringstream ranges{std::string{accepted}};
  for (std::string range; std::getline(ranges, range, ',');) {
    const std::size_t parameters = std::min(range.find(';'), range.size());
    std::string name{trimmed_blanks(std::string_view{range}.substr(0, parameters))};
    name.resize(std::min(name.find('-'), name.size()));
    std::transform(name.begin(), name.end(), name.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
    const int weight = weight_of(std::string_view{range}.substr(parameters));
    if (weight <= most || (name != english && words_of(name) == nullptr)) continue;
    most = weight;
    best = std::move(name);
  }
  return best;
}

std::string_view words_for_page(std::string_view language) {
  static constexpr std::string_view as_written = R"({"language":"en","plural":"n != 1","texts":{}})";
  const auto found = all().find(language);
  return found == all().end() ? as_written : std::string_view{found->second.for_page};
}

}  // namespace drybus::tools
