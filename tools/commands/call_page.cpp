#include "tools/commands/call_page.h"

#include <fmt/format.h>

#include <filesystem>

#include "tools/base/unusable.h"
#include "tools/load/file_kind.h"

namespace drybus::tools {

namespace {

CallToServe begin_on(const std::string& site, const std::string& path) {
  if (std::filesystem::exists(path))
    throw Unusable{fmt::format("{} is there already: name a file for the new call that is not", path)};
  CallToServe call{CallFile{path}, true};
  call.file.set_report(begun_on(site, path, std::filesystem::path{site}.stem().string()));
  return call;
}

}  // namespace

std::string new_call_name() {
  for (int number = 1;; ++number) {
    const std::string name = fmt::format("call-{}.yaml", number);
    if (!std::filesystem::exists(name)) return name;
  }
}

std::optional<CallToServe> call_to_serve(const std::optional<std::string>& path,
                                         const std::optional<std::string>& kept_in) {
  const auto kind = path ? file_kind(*path) : std::nullopt;
  if (kind == FileKind::report) {
    if (kept_in) throw Unusable{"a call is kept in its own file: --call is for a new one"};
    return CallToServe{CallFile{*path}, false};
  }
  if (kind == FileKind::site) return begin_on(*path, kept_in ? *kept_in : new_call_name());
  if (!kept_in) return std::nullopt;
  if (path) throw Unusable{fmt::format("{} is no site: a call begins on one, or on nothing", *path)};
  return CallToServe{CallFile{*kept_in}, !std::filesystem::exists(*kept_in)};
}

}  // namespace drybus::tools
