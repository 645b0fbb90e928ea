#include "tests/support/files.h"

#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <system_error>

namespace drybus::tests {

Folder::Folder() {
  std::string name = (std::filesystem::temp_directory_path() / "drybus-test-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr)
    throw std::filesystem::filesystem_error{"no folder for a test", name,
                                            std::error_code{errno, std::generic_category()}};
  path_ = name;
}

Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

std::string Folder::write(const std::string& name, const std::string& text) const {
  const std::filesystem::path file = path_ / name;
  std::filesystem::create_directories(file.parent_path());
  std::ofstream{file, std::ios::binary} << text;
  return file.string();
}

std::string content_of(const std::filesystem::path& path) {
  std::ifstream file{path, std::ios::binary};
  return {std::istreambuf_iterator<char>{file}, {}};
}

}  // namespace drybus::tests
