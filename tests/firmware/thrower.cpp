// A module in C++ that throws out of what drybus calls: -DTHROWS=... says what, and where.
#include <cstdint>
#include <stdexcept>

#include "model/firmware.h"

namespace {

enum { an_exception = 1, a_number, when_described };

void on_button(const drybus_host*, drybus_device*, void*, std::uint32_t, std::uint32_t closed) {
  if (closed == 0) return;
  if (THROWS == an_exception) throw std::runtime_error{"no such\x1b scene"};
  if (THROWS == a_number) throw 7;
}

drybus_firmware firmware() {
  drybus_firmware described{};
  described.abi = DRYBUS_FIRMWARE_ABI;
  described.size = sizeof(drybus_firmware);
  described.kind = DRYBUS_MODULE;
  described.name = "thrower";
  described.state_size = 4;
  described.button = on_button;
  return described;
}
const drybus_firmware thrower = firmware();

}  // namespace

const drybus_firmware* drybus_firmware_describe(std::uint32_t abi, std::uint32_t kind) {
  if (THROWS == when_described) throw std::runtime_error{"not today"};
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &thrower : nullptr;
}
