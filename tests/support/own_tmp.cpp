#include "tests/support/own_tmp.h"

namespace drybus::tests {

namespace {

std::string all_replaced(std::string text, const std::string& what, const std::string& by) {
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; at += by.size())
    text.replace(at, what.size(), by);
  return text;
}

}  // namespace

Ran shell_with_tmp(const Folder& folder, const std::string& command) {
  const std::string shared = "/tmp/";
  const std::string own = folder.file("");
  Ran ran = shell(all_replaced(command, shared, own));
  ran.out = all_replaced(ran.out, own, shared);
  ran.err = all_replaced(ran.err, own, shared);
  return ran;
}

}  // namespace drybus::tests
