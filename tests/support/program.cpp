#include "tests/support/program.h"

#include <sys/wait.h>

#include <cstdlib>

#include "tests/support/files.h"

namespace drybus::tests {

Ran shell(const std::string& command) {
  const Folder folder;
  const std::string line = "cd '" DRYBUS_SOURCE_DIR "' && drybus() { '" DRYBUS_PROGRAM "' \"$@\"; } && { " +
                           command + "; } >'" + folder.file("out") + "' 2>'" + folder.file("err") +
                           "' </dev/null";
  const int status = std::system(line.c_str());  // NOLINT(cert-env33-c): a shell is what is wanted
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, content_of(folder.file("out")),
          content_of(folder.file("err"))};
}

Ran drybus_program(const std::string& arguments) {
  return shell("drybus " + arguments);
}

}  // namespace drybus::tests
