// A spreadsheet, whatever stands in it: refused with a reason, or a schedule that becomes a site which can be read, and
// a sheet that comes back as the same site.
#include <cstdint>
#include <fstream>
#include <iterator>
#include <string>

#include "tests/fuzz/must.h"
#include "tools/base/unusable.h"
#include "tools/schedule/csv.h"
#include "tools/schedule/site_file.h"

namespace {

using namespace drybus;
using tests::must;

constexpr const char* family_name = "wired-keypad";

const tools::SourceFile& family_file() {
  static const tools::SourceFile file = [] {
    const std::string path = "families/wired-keypad.yaml";
    std::ifstream in{DRYBUS_SOURCE_DIR "/scenarios/" + path};
    return tools::SourceFile{path, {std::istreambuf_iterator<char>{in}, {}}};
  }();
  return file;
}

tools::LoadedSite read_back(const std::string& yaml) {
  const tools::BundledFiles files{{{"fuzz.yaml", yaml}, family_file()}};
  auto reading = tools::read_site("fuzz.yaml", {.family_folders = {}, .files = &files});
  must(reading.ok());
  return std::move(reading.value());
}

const model::Family& family() {
  static const model::Family read =
      read_back("drybus-site: 1\nfamily: wired-keypad\nplates: {P1: {}}\nmodules: {M1: {}}\n").site.family;
  return read;
}

bool is_wrong(const tools::Schedule& schedule) {
  for (const tools::Remark& remark : schedule.remarks) {
    must(!remark.text.empty());
    if (remark.wrong) return true;
  }
  return false;
}

tools::Schedule schedule_from(const std::string& bytes) {
  const tools::Table table = tools::parse_table("fuzz", bytes);
  const tools::ScheduleOptions options{&family(), std::nullopt};
  return tools::read_schedule(table, tools::guess_layout(table), options);
}

std::string yaml_of(const tools::Schedule& schedule) {
  return tools::site_yaml(schedule, family_name, "What came of it.\n");
}

void feed(const std::string& bytes) {
  tools::Schedule schedule;
  try {
    schedule = schedule_from(bytes);
  } catch (const tools::Unusable& unusable) {
    must(*unusable.what() != '\0');
    return;
  }
  if (is_wrong(schedule)) return;
  tools::give_plates(schedule, &family());
  const std::string yaml = yaml_of(schedule);
  tools::Schedule again = schedule_from(tools::schedule_csv(schedule));
  must(!is_wrong(again));
  tools::give_plates(again, &family());
  must(yaml_of(again) == yaml);
  // As a site, too, where it is not too large for one.
  constexpr std::size_t large = 200;
  if (schedule.circuits.size() > large) return;
  must(yaml_of(tools::schedule_of(read_back(yaml))) == yaml);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
