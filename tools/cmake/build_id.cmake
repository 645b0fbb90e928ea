# Which sources a program was built from: a digest of all of them, so that it is the same in any folder, with git or without.
#   cmake -DSOURCE=... -DOUT=... -DCOMPILER=... -P build_id.cmake
file(GLOB_RECURSE files RELATIVE ${SOURCE} ${SOURCE}/sim/* ${SOURCE}/model/* ${SOURCE}/tools/* ${SOURCE}/scenarios/families/*)
list(APPEND files CMakeLists.txt)
list(FILTER files EXCLUDE REGEX "__pycache__")
list(SORT files)
set(all "")
foreach(file ${files})
  file(SHA256 ${SOURCE}/${file} digest)
  string(APPEND all "${digest} ${file}\n")
endforeach()
string(SHA256 digest "${all}")
string(SUBSTRING ${digest} 0 12 id)
file(CONFIGURE OUTPUT ${OUT} CONTENT [[
#include "tools/commands/build_id.h"

namespace drybus::tools {
std::string_view build_id() { return "@id@ (@COMPILER@)"; }
}  // namespace drybus::tools
]] @ONLY)
