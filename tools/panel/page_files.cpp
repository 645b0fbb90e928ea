#include "tools/panel/page_files.h"

#include <algorithm>

namespace drybus::tools {

const PageFile* page_file_at(std::string_view path) {
  if (!path.starts_with('/')) return nullptr;
  const std::string_view name = path == "/" ? "index.html" : path.substr(1);
  const auto files = page_files();
  const auto found =
      std::find_if(files.begin(), files.end(), [&](const PageFile& file) { return file.name == name; });
  return found == files.end() ? nullptr : &*found;
}

std::string_view content_type(std::string_view name) {
  struct Type {
    std::string_view ending;
    std::string_view type;
  };
  static constexpr std::array types = {
      Type{".html", "text/html; charset=utf-8"},
      Type{".css", "text/css; charset=utf-8"},
      Type{".js", "text/javascript; charset=utf-8"},
      Type{".json", "application/json"},
      Type{".svg", "image/svg+xml"},
      Type{".png", "image/png"},
      Type{".woff2", "font/woff2"},
  };
  const auto found =
      std::find_if(types.begin(), types.end(), [&](const Type& type) { return name.ends_with(type.ending); });
  return found == types.end() ? "application/octet-stream" : found->type;
}

}  // namespace drybus::tools
