/* A module with static variables that allocates: it runs, but its worlds cannot be put back. */
#include <stddef.h>
#include <stdlib.h>

#include "model/firmware.h"

static unsigned* presses;

static void on_button(const drybus_host* host, drybus_device* device, void* state, uint32_t button, uint32_t closed) {
  (void)state;
  (void)button;
  if (presses == NULL) presses = malloc(sizeof *presses);
  if (presses == NULL || !closed) return;
  *presses = 1;
  host->set_level(device, *presses * DRYBUS_FULL_LEVEL, 0);
}

static const drybus_firmware allocator = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .flags = DRYBUS_OWN_VARIABLES,
    .name = "allocator",
    .button = on_button,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &allocator : NULL;
}
