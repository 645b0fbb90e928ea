// Whatever arrives as a frame: no telegram, or one that is encoded as just that frame.
#include <algorithm>
#include <cstdint>
#include <cstdlib>

#include "model/family/telegram.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace drybus;
  if (size == 0) return 0;
  sim::Frame frame;
  // The first byte may claim more than there is, as a broken length would.
  frame.size = data[0];
  std::copy_n(data + 1, std::min(size - 1, frame.bytes.size()), frame.bytes.begin());
  if (frame.size > frame.bytes.size()) frame.size = static_cast<std::uint8_t>(frame.bytes.size());
  const auto telegram = model::decode(frame);
  if (!telegram) return 0;
  const sim::Frame again = model::encode(*telegram);
  const bool same = again.size == frame.size &&
                    std::equal(again.bytes.begin(), again.bytes.begin() + again.size, frame.bytes.begin());
  const bool kept = model::unpack(model::pack(*telegram)) == *telegram;
  if (!same || !kept || to_string(*telegram).empty()) std::abort();
  return 0;
}
