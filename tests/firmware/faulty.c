/* A module with faults that sanitizers report and debuggers find: -DFAULT=..., in a block or (-DOWN) in variables of its own.
 * It prints, too. */
#include <stddef.h>
#include <stdio.h>

#include "model/firmware.h"

enum { PRINTS = 0, OVERFLOWS = 1, WRITES_BEYOND = 2, CRASHES_BELOW = 3 };
#ifndef FAULT
#define FAULT PRINTS
#endif

typedef struct faulty_state {
  int presses;
  int last;
} faulty_state;

#ifdef OWN
static faulty_state own;
#define STATE(given) ((void)(given), &own)
#define FLAGS DRYBUS_OWN_VARIABLES
#define SIZE 0
#else
#define STATE(given) ((faulty_state*)(given))
#define FLAGS 0
#define SIZE sizeof(faulty_state)
#endif

static const int table[4] = {1, 2, 3, 4};
static volatile int many = 2147483600;
static volatile int beyond = 9;
static int* volatile nowhere;

static int next(const faulty_state* state) {
  if (FAULT == OVERFLOWS) return many + 100 * state->presses;
  if (FAULT == WRITES_BEYOND) return table[beyond];
  if (FAULT == CRASHES_BELOW) return *nowhere;
  return state->presses;
}

static void on_button(const drybus_host* host, drybus_device* device, void* given, uint32_t button, uint32_t closed) {
  faulty_state* state = STATE(given);
  (void)button;
  if (!closed) return;
  ++state->presses;
  printf("press %d", state->presses);
  printf(" of many\n");
  state->last = next(state);
  host->log(device, "done\x1b");
  host->set_level(device, (uint32_t)state->presses % 2 * DRYBUS_FULL_LEVEL, 0);
}

static void on_timer(const drybus_host* host, drybus_device* device, void* given, uint32_t timer) {
  (void)host;
  (void)device;
  (void)timer;
  STATE(given)->last = 0; /* no timer is ever started: never covered */
}

static const drybus_firmware faulty = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .flags = FLAGS,
    .name = "faulty",
    .state_size = SIZE,
    .button = on_button,
    .timer = on_timer,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &faulty : NULL;
}
