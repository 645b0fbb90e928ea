// The files of the page for calls, carried in the program; what it shares with the bench's page lies there.
#pragma once

#include <span>
#include <string_view>

#include "tools/panel/page_files.h"

namespace drybus::tools {

/// All of tools/panel/call/page, by name.
std::span<const PageFile> call_page_files();

/// What is served at a path ("/" is call.html); null when there is no such file.
const PageFile* call_page_file_at(std::string_view path);

}  // namespace drybus::tools
