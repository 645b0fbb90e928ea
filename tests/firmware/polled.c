/* A dimmer module as device code mostly is: one main loop, gone through every 10 ms, over static variables; inputs are looked
 * at, not told; time is counted. It does what a module in a hall needs: an address taken in setup, on, off, raise, lower, the
 * local button, time-outs, memory. -DPOLLED_CLOCK=... says how it knows the time, -DPOLLED_BUG=... what is wrong with it. */
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "model/firmware.h"

#define BY_PASSED 0
#define BY_MILLIS 1
#define BY_TICKS 2
#ifndef POLLED_CLOCK
#define POLLED_CLOCK BY_PASSED
#endif

enum {
  NO_BUG = 0,
  RESTARTS_ON_ANY_TELEGRAM = 1, /* its setup goes on for as long as anything is heard */
  OFF_BY_ONE_CHANNEL = 2,       /* it stores the channel below the one that was offered */
  FORGETS_IN_SETUP = 3,         /* a power cut in setup costs it its address */
  WRAPS = 4,                    /* deadlines are compared as if the count of milliseconds never wrapped */
  NEVER_SLEEPS = 5              /* its blips never fall asleep */
};
#ifndef POLLED_BUG
#define POLLED_BUG NO_BUG
#endif

enum { PERIOD_MS = 10, SETUP_HOLD_TURNS = 5 };

/* --- the board --- */

static const drybus_host* host;
static drybus_device* device;

static struct {
  uint8_t site, zone, channel, power_up;
} address;

#if POLLED_CLOCK == BY_TICKS
static uint32_t ticks; /* of 10 ms: a count of its own */
#endif

static uint32_t now_ms(void) {
#if POLLED_CLOCK == BY_TICKS
  return ticks * PERIOD_MS;
#else
  return host->millis(device);
#endif
}

static int is_over(uint32_t since, uint32_t duration) {
#if POLLED_BUG == 4
  return now_ms() >= (uint32_t)(since + duration);
#elif POLLED_CLOCK == BY_PASSED
  return host->passed(device, since, duration) != 0;
#else
  return (uint32_t)(now_ms() - since) >= duration;
#endif
}

static uint32_t ms(drybus_ns time) {
  return (uint32_t)(time / 1000000);
}

/* --- what it remembers --- */

static uint8_t inbox[8][8]; /* telegrams as the receiver's interrupt leaves them */
static uint8_t inbox_count;

static uint8_t down, settling, held_long, in_setup, awake;
static uint8_t blip_on, steady_on, breathe_on, flash_on;
static uint32_t settled_at, pressed_at, setup_since, woken_at, blip_at, steady_at, breathe_at, flash_at;
static uint16_t target;

static void store(void) {
  host->store_begin(device);
  host->memory_write(device, 0, &address, sizeof address);
  host->tell_memory(device, address.site, address.zone, address.channel, address.power_up);
  host->store_end(device);
}

static void go_to(uint16_t level) {
  target = level;
  flash_on = 0;
  host->set_level(device, level, host->numbers(device)->module_fade);
}

static void wake(void) {
  if (!awake) host->tell(device, DRYBUS_TELL_BLIPS, 1, 0);
  awake = 1;
  woken_at = now_ms();
}

/* --- setup --- */

static void enter_setup(void) {
  in_setup = 1;
  setup_since = now_ms();
  host->tell(device, DRYBUS_TELL_GESTURE, 0, 0);
  host->tell(device, DRYBUS_TELL_MODE, DRYBUS_SETUP, DRYBUS_BY_GESTURE);
}

static void leave_setup(uint32_t why) {
  in_setup = 0;
  host->tell(device, DRYBUS_TELL_MODE, DRYBUS_NORMAL, why);
}

static void take(const uint8_t* t) {
  if (!in_setup) {
    host->tell(device, DRYBUS_TELL_ASSIGN_IGNORED, 0, 0);
    return;
  }
  if (t[3] == 0 || t[2] == 0) return;
  if (address.site != t[1]) address.power_up = DRYBUS_POWER_UP_OFF;
  address.site = t[1];
  address.zone = t[2];
  address.channel = (uint8_t)(POLLED_BUG == OFF_BY_ONE_CHANNEL ? t[3] - 1 : t[3]);
  leave_setup(DRYBUS_BY_ASSIGN);
  store();
}

/* --- telegrams --- */

static void obey(const uint8_t* t) {
  switch (t[0]) {
    case DRYBUS_ON:
      host->tell(device, DRYBUS_TELL_OBEYED, 0, 0);
      go_to(DRYBUS_FULL_LEVEL);
      return;
    case DRYBUS_OFF:
      host->tell(device, DRYBUS_TELL_OBEYED, 0, 0);
      go_to(0);
      return;
    case DRYBUS_BEACON:
      breathe_on = 1;
      breathe_at = now_ms();
      return;
    case DRYBUS_LEFT:
      breathe_on = 0;
      return;
    default:
      return;
  }
}

static void heard(const uint8_t* t) {
  const int mine = t[1] == address.site && (address.channel == 0 || t[2] == address.zone);
  if (t[0] == DRYBUS_ASSIGN) {
    take(t);
  } else if (t[0] == DRYBUS_IDENTIFY) {
    if (mine && address.channel != 0 && t[3] == address.channel) {
      steady_on = flash_on = 1;
      steady_at = flash_at = now_ms();
      host->set_level(device, target > DRYBUS_FULL_LEVEL / 2 ? 0 : DRYBUS_FULL_LEVEL, 0);
    }
  } else if (mine) {
    obey(t);
  }
  if (POLLED_BUG == RESTARTS_ON_ANY_TELEGRAM && in_setup) setup_since = now_ms();
  if (awake) {
    blip_on = 1;
    blip_at = now_ms();
  } else {
    host->tell(device, DRYBUS_TELL_BLIP_UNSHOWN, 0, 0);
  }
}

/* --- the local button --- */

static void look_at_button(void) {
  const drybus_numbers* numbers = host->numbers(device);
  const uint8_t contact = (uint8_t)(host->contacts(device) & 1);
  if (settling && is_over(settled_at, ms(numbers->debounce))) settling = 0;
  if (!settling && contact != down) {
    down = contact;
    settling = 1;
    settled_at = now_ms();
    if (down) {
      wake();
      held_long = in_setup;
      pressed_at = now_ms();
      if (in_setup) leave_setup(DRYBUS_BY_BUTTON);
    } else if (!held_long) {
      go_to(target > 0 || (!flash_on && host->level(device) > 0) ? 0 : DRYBUS_FULL_LEVEL);
    }
  }
  if (down && !held_long && is_over(pressed_at, ms(numbers->module_setup_hold))) {
    held_long = 1;
    enter_setup();
  }
}

static void look_at_time(void) {
  const drybus_numbers* numbers = host->numbers(device);
  if (in_setup && is_over(setup_since, ms(numbers->module_time_out))) leave_setup(DRYBUS_BY_TIME_OUT);
  if (awake && POLLED_BUG != NEVER_SLEEPS && is_over(woken_at, ms(numbers->blips_sleep))) {
    awake = 0;
    host->tell(device, DRYBUS_TELL_BLIPS, 0, 0);
  }
  if (blip_on && is_over(blip_at, ms(numbers->show_blip))) blip_on = 0;
  if (steady_on && is_over(steady_at, ms(numbers->show_identify))) steady_on = 0;
  if (breathe_on && is_over(breathe_at, ms(numbers->show_breathe))) breathe_on = 0;
  if (flash_on && is_over(flash_at, ms(numbers->module_flash))) {
    flash_on = 0;
    host->set_level(device, target, 0);
  }
}

static void show(void) {
  host->show(device, steady_on    ? DRYBUS_STEADY
                     : in_setup   ? DRYBUS_BLINK
                     : breathe_on ? DRYBUS_BREATHE
                     : blip_on    ? DRYBUS_BLIP
                                  : DRYBUS_DARK);
}

static void turn(void) {
  uint8_t i;
#if POLLED_CLOCK == BY_TICKS
  ++ticks;
#endif
  look_at_button();
  for (i = 0; i < inbox_count; ++i) heard(inbox[i]);
  if (inbox_count != 0) memset(inbox, 0, sizeof inbox);
  inbox_count = 0;
  look_at_time();
  show();
}

/* --- the seat: all that was written for drybus --- */

static void on_provision(const drybus_host* h, drybus_device* d, void* state, const drybus_provision* given) {
  (void)state;
  host = h;
  device = d;
  address.site = given->site;
  address.zone = given->zone;
  address.channel = given->channel;
  address.power_up = given->power_up;
  h->memory_write(d, 0, &address, sizeof address);
}

static void on_reset(const drybus_host* h, drybus_device* d, void* state) {
  (void)state;
  host = h;
  device = d;
  h->memory_read(d, 0, &address, sizeof address);
  h->tell_memory(d, address.site, address.zone, address.channel, address.power_up);
  wake();
  if (address.power_up == DRYBUS_POWER_UP_FULL) {
    target = DRYBUS_FULL_LEVEL;
    h->set_level(d, target, 0);
  }
  show();
}

static void on_telegram(const drybus_host* h, drybus_device* d, void* state, const drybus_telegram* telegram) {
  (void)state;
  (void)h;
  (void)d;
  if (inbox_count < sizeof inbox / sizeof *inbox) memcpy(inbox[inbox_count++], telegram, sizeof *inbox);
}

static void on_poll(const drybus_host* h, drybus_device* d, void* state) {
  (void)state;
  host = h;
  device = d;
  turn();
}

static void on_power_lost(const drybus_host* h, drybus_device* d, void* state) {
  (void)state;
  if (POLLED_BUG == FORGETS_IN_SETUP && in_setup) {
    address.zone = address.channel = 0;
    h->memory_write(d, 0, &address, sizeof address);
  }
}

static const drybus_firmware polled = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .flags = DRYBUS_OWN_VARIABLES,
    .name = "polled dimmer",
    .memory_size = sizeof address,
    .provision = on_provision,
    .reset = on_reset,
    .telegram = on_telegram,
    .power_lost = on_power_lost,
    .poll = on_poll,
    .poll_period = PERIOD_MS * 1000000,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &polled : NULL;
}
