#include "tools/export/junit.h"

#include <fmt/format.h>

#include <algorithm>

#include "tools/base/xml.h"

namespace drybus::tools {

namespace {
std::string first_line(const std::string& text) {
  return text.substr(0, text.find('\n'));
}

std::string case_xml(const JunitCase& each) {
  std::string xml = fmt::format("  <testcase name=\"{}\" classname=\"scenario\" time=\"{:.3f}\">\n",
                                xml_escaped(each.name), each.seconds);
  xml += fmt::format("    <properties><property name=\"simulated seconds\" value=\"{:.3f}\"/></properties>\n",
                     each.simulated_seconds);
  if (!each.error.empty()) {
    xml += fmt::format("    <error message=\"{}\" type=\"aborted\">{}</error>\n",
                       xml_escaped(first_line(each.error)), xml_escaped(each.error));
  } else if (!each.failure.empty()) {
    xml += fmt::format("    <failure message=\"{}\" type=\"expectation\">{}</failure>\n",
                       xml_escaped(first_line(each.failure)), xml_escaped(each.failure));
  }
  return xml + "  </testcase>\n";
}
}  // namespace

std::string junit_xml(const std::string& suite, std::span<const JunitCase> cases) {
  const auto errors =
      std::count_if(cases.begin(), cases.end(), [](const JunitCase& c) { return !c.error.empty(); });
  const auto failures = std::count_if(
      cases.begin(), cases.end(), [](const JunitCase& c) { return c.error.empty() && !c.failure.empty(); });
  double seconds = 0;
  std::string body;
  for (const JunitCase& each : cases) {
    seconds += each.seconds;
    body += case_xml(each);
  }
  return fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites>\n"
      "<testsuite name=\"{}\" tests=\"{}\" failures=\"{}\" errors=\"{}\" skipped=\"0\" time=\"{:.3f}\">\n{}"
      "</testsuite>\n</testsuites>\n",
      xml_escaped(suite), cases.size(), failures, errors, seconds, body);
}

}  // namespace drybus::tools
