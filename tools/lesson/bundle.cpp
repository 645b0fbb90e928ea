#include "tools/lesson/bundle.h"

#include <algorithm>
#include <boost/json.hpp>

#include "tools/base/json_text.h"
#include "tools/lesson/tree_json.h"

namespace drybus::tools {

namespace fs = std::filesystem;
namespace json = boost::json;

namespace {

fs::path absolute(const std::string& path) {
  return fs::absolute(path).lexically_normal();
}

/// Whether a source is a family that was found by its name, and not by where it lies.
bool is_named_family(const LoadedLesson& loaded, const fs::path& path) {
  const auto is = [&](const std::string& ref, const fs::path& file) {
    return !ref.ends_with(".yaml") && absolute(file.string()) == path;
  };
  const LoadedScenario& story = loaded.story;
  return is(story.family_ref, story.family_file) ||
         std::any_of(story.other_families.begin(), story.other_families.end(),
                     [&](const FamilySource& family) { return is(family.ref, family.file); });
}

/// The deepest folder that holds every source but the families that are found by name.
fs::path common_folder(const LoadedLesson& loaded) {
  std::optional<fs::path> common;
  for (const SourceFile& source : loaded.story.sources) {
    const fs::path path = absolute(source.path);
    if (is_named_family(loaded, path)) continue;
    const fs::path folder = path.parent_path();
    if (!common) {
      common = folder;
      continue;
    }
    const auto [end, ignored] = std::mismatch(common->begin(), common->end(), folder.begin(), folder.end());
    fs::path shared;
    for (auto part = common->begin(); part != end; ++part) shared /= *part;
    common = shared;
  }
  return common.value_or(fs::path{});
}

json::array tree_of(const SourceFile& source) {
  Complaints complaints;
  const std::uint32_t file = complaints.add_source(source);
  return tree_json(parse_tree(file, complaints)->root());
}

}  // namespace

std::string lesson_bundle(const LoadedLesson& loaded) {
  const fs::path common = common_folder(loaded);
  json::array files;
  for (const SourceFile& source : loaded.story.sources) {
    const fs::path path = absolute(source.path);
    const fs::path told = is_named_family(loaded, path) ? fs::path{"families"} / path.filename()
                                                        : path.lexically_relative(common);
    files.push_back({{"path", told.generic_string()}, {"text", source.text}, {"tree", tree_of(source)}});
  }
  json::string first = files.front().at("path").as_string();
  return json_text(json::object{{"lesson", std::move(first)}, {"files", std::move(files)}});
}

}  // namespace drybus::tools
