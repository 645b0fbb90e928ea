/* A module built against a header that is newer than the host's: its description is longer. */
#include <stddef.h>

#include "model/firmware.h"

typedef struct tomorrows_firmware {
  drybus_firmware of_today;
  void (*added)(void);
} tomorrows_firmware;

static void on_reset(const drybus_host* host, drybus_device* device, void* block) {
  (void)host;
  (void)device;
  (void)block;
}

static const tomorrows_firmware firmware = {
    .of_today = {.abi = DRYBUS_FIRMWARE_ABI,
                 .size = sizeof(tomorrows_firmware),
                 .kind = DRYBUS_MODULE,
                 .name = "of tomorrow",
                 .state_size = 4,
                 .reset = on_reset},
    .added = NULL,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &firmware.of_today : NULL;
}
