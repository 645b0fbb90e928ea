// A file that had been read and removed left its number to the next new one, which was then "read by this command" and was
// not written: a call at the panel could be kept no longer once its site's file had been saved by an editor.
#include <doctest/doctest.h>
#include <sys/stat.h>

#include <filesystem>
#include <string>

#include "tests/support/files.h"
#include "tools/base/file_claims.h"
#include "tools/base/output.h"

namespace {

using drybus::tests::Folder;

ino_t number_of(const std::string& path) {
  struct stat is {};
  return ::stat(path.c_str(), &is) == 0 ? is.st_ino : 0;
}

TEST_CASE("a new file that has the number of one that was read and removed is written") {
  const Folder folder;
  const std::string read = folder.write("read.yaml", "drybus: 1\n");
  const ino_t number = number_of(read);
  drybus::tools::note_read(read);
  CHECK_THROWS(drybus::tools::write_file(read, "over it"));
  std::filesystem::remove(read);
  for (int i = 0; i < 64; ++i) {
    const std::string fresh = folder.write("fresh" + std::to_string(i), "");
    if (number_of(fresh) != number) continue;
    CHECK_NOTHROW(drybus::tools::write_file(fresh, "written"));
    return;
  }
  MESSAGE("this file system gave the number to nobody else");
}

}  // namespace
