#include "tools/script/loader.h"

#include <fmt/format.h>

#include "model/words/words.h"

namespace drybus::tools {

using model::tr;

namespace fs = std::filesystem;

namespace {
constexpr std::string_view byte_order_mark = "\xef\xbb\xbf";
}

const Node* Loader::load(const fs::path& path, const Place* asked_at) {
  if (const auto known = trees_.find(path.lexically_normal()); known != trees_.end()) {
    return known->second == nullptr ? nullptr : &known->second->root();
  }
  auto text = files_.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text)) {
    trees_[path.lexically_normal()] = nullptr;
    if (asked_at == nullptr) {
      complaints_.add_about_file(path.string(), refusal->why);
    } else {
      complaints_.add(*asked_at, fmt::format("{}: {}", path.string(), refusal->why));
    }
    return nullptr;
  }
  return parse({path.string(), std::move(std::get<std::string>(text))});
}

const Node* Loader::take(SourceFile source) {
  if (source.text.size() > max_file_bytes) {
    complaints_.add_about_file(source.path, tr("is larger than {} MiB", max_file_bytes >> 20));
    return nullptr;
  }
  return parse(std::move(source));
}

const Node* Loader::parse(SourceFile source) {
  if (source.text.starts_with(byte_order_mark)) source.text.erase(0, byte_order_mark.size());
  const fs::path key = fs::path{source.path}.lexically_normal();
  const std::uint32_t file = complaints_.add_source(std::move(source));
  std::unique_ptr<Tree>& tree = trees_[key];
  tree = parse_tree(file, complaints_);
  return tree == nullptr ? nullptr : &tree->root();
}

fs::path Loader::folder_of(const Place& place) const {
  return fs::path{complaints_.sources()[place.mark.file].path}.parent_path();
}

}  // namespace drybus::tools
