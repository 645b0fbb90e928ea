/* The one symbol that the library exports. */
#include <stddef.h>

#include "sample.h"

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  if (abi != DRYBUS_FIRMWARE_ABI) return NULL;
  switch (kind) {
    case DRYBUS_PLATE:
      return &sample_plate;
    case DRYBUS_MODULE:
      return &sample_module;
    default:
      return NULL;
  }
}
