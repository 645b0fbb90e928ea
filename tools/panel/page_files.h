// The files of the page, carried in the program.
#pragma once

#include <array>
#include <span>
#include <string_view>

namespace drybus::tools {

struct PageFile {
  std::string_view name;
  std::string_view content;
};

/// All of tools/panel/page, by name.
std::span<const PageFile> page_files();

/// What is served at a path ("/" is index.html); null when there is no such file.
const PageFile* page_file_at(std::string_view path);

/// "text/css; charset=utf-8"
std::string_view content_type(std::string_view name);

}  // namespace drybus::tools
