// A spreadsheet, whatever stands in it: refused with a reason, or a schedule with remarks that say something.
#include <cstdint>
#include <string>

#include "tests/fuzz/must.h"
#include "tools/base/unusable.h"
#include "tools/schedule/csv.h"
#include "tools/schedule/site_file.h"

namespace {

using namespace drybus;
using tests::must;

bool is_wrong(const tools::Schedule& schedule) {
  for (const tools::Remark& remark : schedule.remarks) {
    must(!remark.text.empty());
    if (remark.wrong) return true;
  }
  return false;
}

void feed(const std::string& bytes) {
  tools::Schedule schedule;
  try {
    const tools::Table table = tools::parse_table("fuzz", bytes);
    schedule = tools::read_schedule(table, tools::guess_layout(table));
  } catch (const tools::Unusable& unusable) {
    must(*unusable.what() != '\0');
    return;
  }
  // What is read and not wrong can be given plates. That what is written of it can be read again does not hold yet for
  // every odd cell, and so is no part of this.
  if (!is_wrong(schedule)) tools::give_plates(schedule, nullptr);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  feed({reinterpret_cast<const char*>(data), size});
  return 0;
}
