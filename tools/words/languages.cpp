#include "tools/words/languages.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <sstream>

namespace drybus::tools {

namespace {

constexpr std::string_view english = "en";

/// "de" of "de.mo"
std::string_view language_of(const WordFile& file) {
  return file.name.substr(0, file.name.rfind('.'));
}

using Catalogues = std::map<std::string, Catalogue, std::less<>>;

/// Read when somebody speaks one of them for the first time: most commands are done sooner than that.
const Catalogues& catalogues() {
  static const Catalogues read = [] {
    Catalogues known;
    for (const WordFile& file : word_files())
      known.emplace(language_of(file), Catalogue::from_mo(file.content));
    return known;
  }();
  return read;
}

const std::map<std::string, std::string, std::less<>>& texts_for_pages() {
  static const auto made = [] {
    std::map<std::string, std::string, std::less<>> texts;
    for (const auto& [language, catalogue] : catalogues()) texts.emplace(language, catalogue.page_json());
    return texts;
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
  for (const WordFile& file : word_files()) names.emplace_back(language_of(file));
  std::sort(names.begin(), names.end());
  return names;
}

bool is_language(std::string_view name) {
  const std::span<const WordFile> files = word_files();
  return name == english || std::any_of(files.begin(), files.end(),
                                        [&](const WordFile& file) { return language_of(file) == name; });
}

const Catalogue* words_of(std::string_view language) {
  if (!is_language(language) || language == english) return nullptr;
  return &catalogues().find(language)->second;
}

std::string language_of_locale(std::string_view locale) {
  const std::string_view language = locale.substr(0, locale.find_first_of("_.@"));
  return std::string{is_language(language) ? language : english};
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
    if (weight <= most || !is_language(name)) continue;
    most = weight;
    best = std::move(name);
  }
  return best;
}

std::string_view words_for_page(std::string_view language) {
  static constexpr std::string_view as_written = R"({"language":"en","plural":"n != 1","texts":{}})";
  if (language == english) return as_written;
  const auto found = texts_for_pages().find(language);
  return found == texts_for_pages().end() ? as_written : std::string_view{found->second};
}

}  // namespace drybus::tools
