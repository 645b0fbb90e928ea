/* A dimmer module as device code mostly is: one main loop over static variables. Up to "the board" it knows nothing of drybus. What
 * dimmer.c says holds here, too: what is missing is yours to add. */
#include <drybus/firmware.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

/* --- what the board does for it --- */

static bool button_is_down(void);
static bool load_is_lit(void);
static void set_load(bool lit);
static void set_lamp(uint32_t pattern);
static bool take_telegram(drybus_telegram* telegram);
static void read_memory(void* to, uint32_t size);
static void write_memory(const void* from, uint32_t size, uint8_t site, uint8_t zone, uint8_t channel);
static void report_setup(bool begins, uint32_t why);
static void report_address(uint8_t site, uint8_t zone, uint8_t channel);

/* --- the dimmer --- */

#define TICKS(ms) ((uint16_t)((ms) / 10)) /* of the main loop */

static struct {
  uint8_t whole, site, zone, channel;
} record;

static uint32_t ticks; /* since the power came on */
static bool down, lit, in_setup;
static uint8_t settled_for;
static uint16_t held_for, setup_left, blip_left;

static void begin_setup(void) {
  in_setup = true;
  setup_left = TICKS(150000);
  printf("[%lu] setup\n", (unsigned long)ticks);
  report_setup(true, DRYBUS_BY_GESTURE);
}

static void end_setup(uint32_t why) {
  in_setup = false;
  printf("[%lu] setup is over\n", (unsigned long)ticks);
  report_setup(false, why);
}

static void look_at_button(void) {
  settled_for = button_is_down() == down ? 0 : (uint8_t)(settled_for + 1);
  if (settled_for == 3) {
    settled_for = 0;
    down = !down;
    if (down) {
      held_for = in_setup ? TICKS(60000) : 1; /* letting go means nothing more */
      if (in_setup) end_setup(DRYBUS_BY_BUTTON);
    } else {
      if (held_for < TICKS(3000)) set_load(lit = !lit && !load_is_lit());
      held_for = 0;
    }
  }
  if (down && held_for < TICKS(3000) && ++held_for == TICKS(3000)) begin_setup();
}

static void hear(const drybus_telegram* telegram) {
  const bool mine = telegram->site == record.site && (record.channel == 0 || telegram->zone == record.zone);
  blip_left = TICKS(120);
  if (telegram->kind == DRYBUS_ASSIGN && in_setup && telegram->zone != 0 && telegram->channel != 0) {
    record.site = telegram->site;
    record.zone = telegram->zone;
    record.channel = telegram->channel;
    write_memory(&record, sizeof record, record.site, record.zone, record.channel);
    end_setup(DRYBUS_BY_ASSIGN);
  }
  if (telegram->kind == DRYBUS_ON && mine) set_load(lit = true);
  if (telegram->kind == DRYBUS_OFF && mine) set_load(lit = false);
}

static void start(void) {
  read_memory(&record, sizeof record);
  if (record.whole != 1) {
    memset(&record, 0, sizeof record);
    record.whole = record.site = 1;
  }
  report_address(record.site, record.zone, record.channel);
}

static void turn(void) {
  drybus_telegram telegram;
  ++ticks;
  look_at_button();
  while (take_telegram(&telegram)) hear(&telegram);
  if (setup_left != 0 && --setup_left == 0 && in_setup) end_setup(DRYBUS_BY_TIME_OUT);
  if (blip_left != 0) --blip_left;
  set_lamp(in_setup ? DRYBUS_BLINK : blip_left != 0 ? DRYBUS_BLIP : DRYBUS_DARK);
}

/* --- the board: all that is written for drybus --- */

static const drybus_host* host;
static drybus_device* device;

static drybus_telegram inbox[8]; /* as the receiver's interrupt leaves them */
static uint8_t inbox_count;

static bool button_is_down(void) { return (host->contacts(device) & 1) != 0; }
static bool load_is_lit(void) { return host->level(device) != 0; }
static void set_load(bool on) {
  host->set_level(device, on ? DRYBUS_FULL_LEVEL : 0, host->numbers(device)->module_fade);
}
static void set_lamp(uint32_t pattern) { host->show(device, pattern); }
static void read_memory(void* to, uint32_t size) { host->memory_read(device, 0, to, size); }

static bool take_telegram(drybus_telegram* telegram) {
  if (inbox_count == 0) return false;
  *telegram = inbox[0];
  --inbox_count;
  memmove(inbox, inbox + 1, sizeof inbox - sizeof *inbox);
  return true;
}

static void report_setup(bool begins, uint32_t why) {
  if (begins) host->tell(device, DRYBUS_TELL_GESTURE, 0, 0);
  host->tell(device, DRYBUS_TELL_MODE, begins ? DRYBUS_SETUP : DRYBUS_NORMAL, why);
}

static void report_address(uint8_t site, uint8_t zone, uint8_t channel) {
  host->tell_memory(device, site, zone, channel, DRYBUS_POWER_UP_OFF);
}

/* At once. One that takes its time has a power cut in it at some time: module_store says how long. */
static void write_memory(const void* from, uint32_t size, uint8_t site, uint8_t zone, uint8_t channel) {
  host->store_begin(device);
  host->memory_write(device, 0, from, size);
  report_address(site, zone, channel);
  host->store_end(device);
}

static void on_provision(const drybus_host* h, drybus_device* d, void* block, const drybus_provision* given) {
  const uint8_t stored[] = {1, given->site, given->zone, given->channel};
  (void)block;
  h->memory_write(d, 0, stored, sizeof stored);
}

static void on_reset(const drybus_host* h, drybus_device* d, void* block) {
  (void)block;
  host = h;
  device = d;
  start();
}

static void on_telegram(const drybus_host* h, drybus_device* d, void* block, const drybus_telegram* telegram) {
  (void)block;
  (void)h;
  (void)d;
  if (inbox_count < sizeof inbox / sizeof *inbox) inbox[inbox_count++] = *telegram;
}

static void on_poll(const drybus_host* h, drybus_device* d, void* block) {
  (void)block;
  host = h;
  device = d;
  turn();
}

static const drybus_firmware loop = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .flags = DRYBUS_OWN_VARIABLES,
    .name = "loop 0.1",
    .memory_size = sizeof record,
    .provision = on_provision,
    .reset = on_reset,
    .telegram = on_telegram,
    .poll = on_poll,
    .poll_period = 10000000, /* ns */
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &loop : NULL;
}
