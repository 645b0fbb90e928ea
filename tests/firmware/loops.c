/* Main loops that know the time in the ways that device code does: -DLOOP=... says which. Each does something now and then for as long
 * as it has power, so that a turn left out by mistake is seen. */
#include <stddef.h>
#include <stdint.h>

#include "model/firmware.h"

static const drybus_host* host;
static drybus_device* device;
static uint16_t level;

static void toggle(void) {
  level = level == 0 ? DRYBUS_FULL_LEVEL : 0;
  host->set_level(device, level, 0);
}

#if LOOP == 1 /* ticks in 32 bits, compared as what is left */
static uint32_t ticks, deadline = 50000;
static void turn(void) {
  ++ticks;
  if ((int32_t)(ticks - deadline) >= 0) {
    deadline += 70001;
    toggle();
  }
}
#elif LOOP == 2 /* counted down in 16 bits, with a heartbeat beside it */
static uint16_t left = 60000;
static uint8_t heartbeat;
static void turn(void) {
  if (++heartbeat >= 100) heartbeat = 0;
  if (left != 0 && --left == 0) {
    left = 54321;
    toggle();
  }
}
#elif LOOP == 3 /* milliseconds in 64 bits, with what wrapped added on */
static uint32_t last;
static uint64_t total, next = 600000;
static void turn(void) {
  const uint32_t now = host->millis(device);
  total += (uint32_t)(now - last);
  last = now;
  if (total >= next) {
    next += 700010;
    toggle();
  }
}
#elif LOOP == 4 /* minutes made of ticks, as people have them */
static uint32_t ticks, minute;
static void turn(void) {
  const uint32_t now = ++ticks / 6000;
  if (now != minute && now % 10 == 7) toggle();
  minute = now;
}
#elif LOOP == 5 /* nanoseconds, in bits that are looked at */
static void turn(void) {
  const uint16_t wanted = (host->now(device) >> 39 & 1) != 0 ? DRYBUS_FULL_LEVEL : 0;
  if (wanted == level) return;
  toggle();
}
#elif LOOP == 6 /* seconds counted from milliseconds: two words that begin again */
static struct {
  uint16_t ms;
  uint8_t seconds, minutes;
} clock;
static void turn(void) {
  if ((clock.ms = (uint16_t)(clock.ms + 10)) < 1000) return;
  clock.ms = 0;
  if (++clock.seconds < 60) return;
  clock.seconds = 0;
  if (++clock.minutes < 13) return;
  clock.minutes = 0;
  toggle();
}
#elif LOOP == 7 /* a number that nobody foresees: it is gone through */
static uint32_t ticks;
static void turn(void) {
  uint32_t x = ++ticks;
  x ^= x << 7;
  x = x * 2654435761u % 100003u;
  if (x == 1) toggle();
}
#elif LOOP == 8 /* several that are older than each other, one of them counted backwards */
static uint32_t up = 7, down = 900000, since;
static int16_t temperature = -300;
static void turn(void) {
  ++up;
  down -= 3;
  if (up - since > 65000u && temperature < 0) {
    since = up;
    toggle();
  }
  if (down <= 100000u) {
    down = 900000;
    toggle();
  }
}
#elif LOOP == 9 /* a heartbeat, and nothing else for hours */
static uint32_t ticks;
static uint8_t heartbeat;
static void turn(void) {
  if (++heartbeat == 100) heartbeat = 0;
  if (++ticks == 2700000) toggle();
}
#endif

static void on_reset(const drybus_host* h, drybus_device* d, void* state) {
  (void)state;
  host = h;
  device = d;
}

static void on_poll(const drybus_host* h, drybus_device* d, void* state) {
  (void)state;
  host = h;
  device = d;
  turn();
}

static const drybus_firmware loops = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .flags = DRYBUS_OWN_VARIABLES,
    .name = "loop",
    .reset = on_reset,
    .poll = on_poll,
    .poll_period = 10000000,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &loops : NULL;
}
