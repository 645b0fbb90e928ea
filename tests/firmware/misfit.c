/* Descriptions that cannot be right: -DMISFIT=... says which. */
#include <stddef.h>

#include "model/firmware.h"

enum {
  OLD_VERSION = 1,
  WRONG_SIZE,
  WRONG_KIND,
  UNKNOWN_FLAG,
  NO_NAME,
  LONG_NAME,
  TOO_MUCH_STATE,
  TOO_MUCH_MEMORY,
  NO_HANDLERS,
  HANDLER_ELSEWHERE,
  STATE_AND_VARIABLES,
  NOTHING,
  CRASHES_WHEN_ASKED,
  NO_SYMBOL,
  ONLY_PLATES
};

static void on_reset(const drybus_host* host, drybus_device* device, void* state) {
  (void)host;
  (void)device;
  (void)state;
}

#define IS(misfit) (MISFIT == (misfit))

static const drybus_firmware firmware = {
    .abi = IS(OLD_VERSION) ? DRYBUS_FIRMWARE_ABI + 1 : DRYBUS_FIRMWARE_ABI,
    .size = IS(WRONG_SIZE) ? 12 : sizeof(drybus_firmware),
    .kind = IS(WRONG_KIND)    ? 9
            : IS(ONLY_PLATES) ? DRYBUS_PLATE
                              : DRYBUS_MODULE,
    .flags = IS(UNKNOWN_FLAG)          ? 64
             : IS(STATE_AND_VARIABLES) ? DRYBUS_OWN_VARIABLES
                                       : 0,
    .name = IS(NO_NAME)     ? NULL
            : IS(LONG_NAME) ? "a name that goes on and on and on and on and on and on and on and on and on "
                              "and on and on and on"
                            : "misfit",
    .state_size = IS(TOO_MUCH_STATE) ? 70000 : 8,
    .memory_size = IS(TOO_MUCH_MEMORY) ? 70000 : 8,
    .reset = IS(NO_HANDLERS)         ? NULL
             : IS(HANDLER_ELSEWHERE) ? (void (*)(const drybus_host*, drybus_device*, void*))16
                                     : on_reset,
};

static volatile uintptr_t nowhere = 8;

#if MISFIT != 14
const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  (void)abi;
  if (IS(NOTHING)) return NULL;
  /* NOLINTNEXTLINE(performance-no-int-to-ptr): nobody may know that it is nowhere */
  if (IS(CRASHES_WHEN_ASKED)) return *(const drybus_firmware* const volatile*)nowhere;
  return kind == (IS(ONLY_PLATES) ? DRYBUS_PLATE : DRYBUS_MODULE) ? &firmware : NULL;
}
#else
__attribute__((visibility("default"))) const drybus_firmware* somebody_elses_symbol(void) {
  return nowhere ? &firmware : NULL;
}
#endif
