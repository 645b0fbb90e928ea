/* A dimmer module to start from. It remembers its address, goes through setup, obeys on and off, and forgets the rest:
 * what is missing is yours to add. drybus/firmware.h says, line by line, what the host does and what it expects. */
#include <drybus/firmware.h>
#include <stddef.h>

/* All that a module remembers while it has power: the host hands it to every handler, and copies it as it likes. */
typedef struct state {
  uint8_t in_setup;
  uint8_t down; /* the local button, debounced */
  uint8_t held; /* long enough: letting go means nothing more */
  uint8_t settling;
  uint8_t lit;
  uint8_t blipping;
  uint8_t spare[2];
} state;

/* What is kept without power. The last byte says whether a store came to its end. */
typedef struct record {
  uint8_t site;
  uint8_t zone;
  uint8_t channel; /* 0: unaddressed */
  uint8_t whole;   /* 1; anything else is as good as nothing */
} record;

static record read_record(const drybus_host* host, drybus_device* device) {
  record stored;
  host->memory_read(device, 0, &stored, sizeof stored);
  if (stored.whole != 1) {
    const record factory = {host->numbers(device)->module_factory_site, 0, 0, 1};
    return factory;
  }
  return stored;
}

static void show(const drybus_host* host, drybus_device* device, const state* mine) {
  host->show(device, mine->in_setup ? DRYBUS_BLINK : mine->blipping ? DRYBUS_BLIP : DRYBUS_DARK);
}

static void set_lit(const drybus_host* host, drybus_device* device, state* mine, int lit) {
  mine->lit = lit != 0;
  host->set_level(device, lit ? DRYBUS_FULL_LEVEL : 0, host->numbers(device)->module_fade);
}

static void set_setup(const drybus_host* host, drybus_device* device, state* mine, int in_setup,
                      uint32_t why) {
  mine->in_setup = in_setup != 0;
  host->tell(device, DRYBUS_TELL_MODE, in_setup ? DRYBUS_SETUP : DRYBUS_NORMAL, why);
  if (in_setup) {
    host->start_timer(device, DRYBUS_TIMER_TIME_OUT, host->numbers(device)->module_time_out);
  } else {
    host->stop_timer(device, DRYBUS_TIMER_TIME_OUT);
  }
}

/* Contacts bounce: a change counts, and then nothing until they have settled. */
static void look_at_button(const drybus_host* host, drybus_device* device, state* mine) {
  const uint8_t down = host->contacts(device) & 1;
  if (mine->settling || down == mine->down) return;
  mine->down = down;
  mine->settling = 1;
  host->start_timer(device, DRYBUS_TIMER_DEBOUNCE, host->numbers(device)->debounce);
  if (down) {
    mine->held = mine->in_setup;
    if (mine->in_setup) {
      set_setup(host, device, mine, 0, DRYBUS_BY_BUTTON);
    } else {
      host->start_timer(device, DRYBUS_TIMER_HOLD, host->numbers(device)->module_setup_hold);
    }
    return;
  }
  host->stop_timer(device, DRYBUS_TIMER_HOLD);
  /* a load that is still lit on its way down is put out, too */
  if (!mine->held) set_lit(host, device, mine, !mine->lit && host->level(device) == 0);
}

static void take_address(const drybus_host* host, drybus_device* device, state* mine,
                         const drybus_telegram* assign) {
  const record next = {assign->site, assign->zone, assign->channel, 1};
  if (!mine->in_setup || assign->zone == 0 || assign->channel == 0) return;
  host->store_begin(device); /* from here on a power cut would spoil the record */
  host->memory_write(device, 0, &next, sizeof next);
  host->start_timer(device, DRYBUS_TIMER_STORE, host->numbers(device)->module_store);
  set_setup(host, device, mine, 0, DRYBUS_BY_ASSIGN);
}

static void stored(const drybus_host* host, drybus_device* device) {
  const record mine = read_record(host, device);
  host->tell_memory(device, mine.site, mine.zone, mine.channel, DRYBUS_POWER_UP_OFF);
  host->store_end(device);
}

/* --- what the host calls --- */

static void on_provision(const drybus_host* host, drybus_device* device, void* block,
                         const drybus_provision* given) {
  const record stored_before = {given->site, given->zone, given->channel, 1};
  (void)block;
  host->memory_write(device, 0, &stored_before, sizeof stored_before);
}

static void on_reset(const drybus_host* host, drybus_device* device, void* block) {
  const record mine = read_record(host, device);
  (void)block; /* all 0 */
  host->tell_memory(device, mine.site, mine.zone, mine.channel, DRYBUS_POWER_UP_OFF);
}

static void on_button(const drybus_host* host, drybus_device* device, void* block, uint32_t button,
                      uint32_t closed) {
  state* mine = block;
  (void)button;
  (void)closed;
  look_at_button(host, device, mine);
  show(host, device, mine);
}

static void on_telegram(const drybus_host* host, drybus_device* device, void* block,
                        const drybus_telegram* telegram) {
  state* mine = block;
  const record me = read_record(host, device);
  const int for_me = telegram->site == me.site && (me.channel == 0 || telegram->zone == me.zone);
  if (telegram->kind == DRYBUS_ASSIGN) take_address(host, device, mine, telegram);
  if (telegram->kind == DRYBUS_ON && for_me) set_lit(host, device, mine, 1);
  if (telegram->kind == DRYBUS_OFF && for_me) set_lit(host, device, mine, 0);
  mine->blipping = 1;
  host->start_timer(device, DRYBUS_TIMER_BLIP, host->numbers(device)->show_blip);
  show(host, device, mine);
}

static void on_timer(const drybus_host* host, drybus_device* device, void* block, uint32_t timer) {
  state* mine = block;
  switch (timer) {
    case DRYBUS_TIMER_DEBOUNCE:
      mine->settling = 0;
      look_at_button(host, device, mine);
      break;
    case DRYBUS_TIMER_HOLD:
      mine->held = 1;
      host->tell(device, DRYBUS_TELL_GESTURE, 0, 0);
      set_setup(host, device, mine, 1, DRYBUS_BY_GESTURE);
      break;
    case DRYBUS_TIMER_TIME_OUT:
      set_setup(host, device, mine, 0, DRYBUS_BY_TIME_OUT);
      break;
    case DRYBUS_TIMER_STORE:
      stored(host, device);
      break;
    case DRYBUS_TIMER_BLIP:
      mine->blipping = 0;
      break;
    default:
      break;
  }
  show(host, device, mine);
}

static const drybus_firmware dimmer = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .name = "dimmer 0.1",
    .state_size = sizeof(state),
    .memory_size = sizeof(record),
    .provision = on_provision,
    .reset = on_reset,
    .button = on_button,
    .telegram = on_telegram,
    .timer = on_timer,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &dimmer : NULL;
}
