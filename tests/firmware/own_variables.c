/* The sample module as existing code mostly is: its state lies in a variable of its own. One set of variables serves every
 * module of a site, because the host puts each one's own values in place. */
#include <stddef.h>
#include <string.h>

#include "sample.h"

static _Alignas(16) uint8_t variables[256];

static void on_provision(const drybus_host* host, drybus_device* device, void* state,
                         const drybus_provision* provision) {
  (void)state;
  sample_module.provision(host, device, variables, provision);
}

static void on_reset(const drybus_host* host, drybus_device* device, void* state) {
  (void)state;
  memset(variables, 0, sizeof variables);
  sample_module.reset(host, device, variables);
}

static void on_button(const drybus_host* host, drybus_device* device, void* state, uint32_t button,
                      uint32_t closed) {
  (void)state;
  sample_module.button(host, device, variables, button, closed);
}

static void on_telegram(const drybus_host* host, drybus_device* device, void* state,
                        const drybus_telegram* telegram) {
  (void)state;
  sample_module.telegram(host, device, variables, telegram);
}

static void on_timer(const drybus_host* host, drybus_device* device, void* state, uint32_t timer) {
  (void)state;
  sample_module.timer(host, device, variables, timer);
}

static void on_power_lost(const drybus_host* host, drybus_device* device, void* state) {
  (void)state;
  sample_module.power_lost(host, device, variables);
}

static drybus_firmware firmware = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .flags = DRYBUS_HEARS_DAMAGED | DRYBUS_OWN_VARIABLES,
    .name = "sample module with variables of its own",
    .state_size = 0,
    .provision = on_provision,
    .reset = on_reset,
    .button = on_button,
    .telegram = on_telegram,
    .timer = on_timer,
    .power_lost = on_power_lost,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  if (abi != DRYBUS_FIRMWARE_ABI || kind != DRYBUS_MODULE) return NULL;
  if (sample_module.state_size > sizeof variables) return NULL;
  firmware.memory_size = sample_module.memory_size;
  return &firmware;
}
