/* The dimmer module of the sample firmware. */
#include <stddef.h>
#include <string.h>

#include "sample.h"

#ifndef DRYBUS_FIRMWARE_MINOR /* the first header had another word for it */
#define DRYBUS_TIMER_FLASH DRYBUS_TIMER_WINK
#define module_flash module_wink
#endif

/* What a store to memory writes. The checksum shows a store that the power cut in two. */
typedef struct module_record {
  uint8_t site;
  uint8_t zone;
  uint8_t channel; /* 0: unaddressed */
  uint8_t power_up;
  uint16_t scenes[DRYBUS_SCENES];
  uint16_t checksum;
} module_record;

/* Memory: the record, then what is written in the last moment before power is gone. */
enum {
  RECORD_AT = 0,
  LAST_LEVEL_AT = sizeof(module_record),
  SETUP_AT = LAST_LEVEL_AT + 2,
  MEMORY_SIZE = SETUP_AT + 1
};

/* A module refuses nothing, so that this timer is free: the load has arrived. */
enum { TIMER_ARRIVAL = DRYBUS_TIMER_REFUSE };

/* All that a module remembers while it has power. Times of day are kept only while the load is on its way or flashes, so that
 * a hunt knows a situation again. */
typedef struct module_state {
  drybus_ns arrives;     /* when the load will be where it is going; 0 when it is there */
  drybus_ns flash_begun; /* while it flashes and is on its way beneath */
  module_record record;  /* as it stands in memory */
  module_record writing; /* on its way to memory while `storing`, else all 0 */
  uint16_t flash_from;   /* and where it was then */
  uint16_t target;       /* where the load is or is going, flashing apart */
  uint8_t in_setup;
  uint8_t storing;
  uint8_t down;     /* the local button, debounced */
  uint8_t spent;    /* the press has had its effect */
  uint8_t settling; /* the contact is not read until the debounce time is over */
  uint8_t awake;    /* blips are shown */
  uint8_t steady;
  uint8_t breathing;
  uint8_t blipping;
  uint8_t flashing;
  uint8_t moving; /* told to rise or to sink, which stop ends */
  uint8_t spare[5];
} module_state;

/* One call of a handler. */
typedef struct module {
  const drybus_host* host;
  drybus_device* device;
  module_state* state;
  const drybus_numbers* numbers;
} module;

static module module_of(const drybus_host* host, drybus_device* device, void* state) {
  const module it = {host, device, state, host->numbers(device)};
  return it;
}

static void start(const module* it, uint32_t timer, drybus_ns duration) {
  it->host->start_timer(it->device, timer, duration);
}

static void stop(const module* it, uint32_t timer) {
  it->host->stop_timer(it->device, timer);
}

static void tell(const module* it, uint32_t what, uint32_t a, uint32_t b) {
  it->host->tell(it->device, what, a, b);
}

/* What shows when several apply: identify, before setup, before its plate's setup, before a blip. */
static void show(const module* it) {
  uint32_t pattern = DRYBUS_DARK;
  if (it->state->steady) {
    pattern = DRYBUS_STEADY;
  } else if (it->state->in_setup) {
    pattern = DRYBUS_BLINK;
  } else if (it->state->breathing) {
    pattern = DRYBUS_BREATHE;
  } else if (it->state->blipping) {
    pattern = DRYBUS_BLIP;
  }
  it->host->show(it->device, pattern);
}

static void wake(const module* it) {
  if (!it->state->awake) tell(it, DRYBUS_TELL_BLIPS, 1, 0);
  it->state->awake = 1;
  start(it, DRYBUS_TIMER_SLEEP, it->numbers->blips_sleep);
}

/* --- the record --- */

/* Sums with the places weighed in, so that bytes that change places show. Erased memory does not fit. */
static uint16_t checksum_of(const module_record* record) {
  const uint8_t* bytes = (const uint8_t*)record;
  uint16_t sum = 0x5a5a;
  for (size_t i = 0; i < offsetof(module_record, checksum); ++i) sum = (uint16_t)(sum * 31u + bytes[i]);
  return sum;
}

static void write_record(const module* it, module_record* record) {
  record->checksum = checksum_of(record);
  it->host->memory_write(it->device, RECORD_AT, record, sizeof *record);
}

static module_record factory_record(const drybus_numbers* numbers) {
  module_record record = {0};
  record.site = numbers->module_factory_site;
  record.power_up = numbers->module_factory_power_up;
  for (unsigned i = 0; i < DRYBUS_SCENES; ++i) {
    const unsigned scenes = numbers->module_scenes;
    record.scenes[i] = i < scenes ? (uint16_t)(DRYBUS_FULL_LEVEL * (scenes - i) / scenes) : DRYBUS_NO_LEVEL;
  }
  return record;
}

static void tell_memory(const module* it) {
  const module_record* record = &it->state->record;
  it->host->tell_memory(it->device, record->site, record->zone, record->channel, record->power_up);
}

static module_record* begin_write(const module* it) {
  if (!it->state->storing) it->state->writing = it->state->record;
  it->state->storing = 1;
  it->host->store_begin(it->device);
  start(it, DRYBUS_TIMER_STORE, it->numbers->module_store);
  return &it->state->writing;
}

static void end_write(const module* it) {
  module_state* state = it->state;
  const int power_up_changed = state->writing.power_up != state->record.power_up;
  const module_record nothing = {0};
  state->record = state->writing;
  state->writing = nothing;
  state->storing = 0;
  tell_memory(it);
  it->host->store_end(it->device);
  if (power_up_changed) tell(it, DRYBUS_TELL_POWER_UP, state->record.power_up, 0);
}

/* --- the load --- */

static int is_on_its_way(const module* it) {
  return it->state->arrives > it->host->now(it->device);
}

/* Where the load is. The flash is a show: beneath it the load goes on. */
static uint16_t level_of(const module* it) {
  const module_state* state = it->state;
  if (!state->flashing) return it->host->level(it->device);
  if (!is_on_its_way(it)) return state->target;
  const drybus_ns gone = (it->host->now(it->device) - state->flash_begun) / 1000;
  const drybus_ns all = (state->arrives - state->flash_begun) / 1000;
  const drybus_ns range = (drybus_ns)state->target - state->flash_from;
  return (uint16_t)(state->flash_from + range * gone / (all > 0 ? all : 1));
}

static int is_lit(const module* it) {
  return level_of(it) > 0 || it->state->target > 0;
}

static void forget_flash(const module* it) {
  it->state->flashing = 0;
  it->state->flash_begun = 0;
  it->state->flash_from = 0;
}

static void end_flash(const module* it) {
  const uint16_t level = level_of(it);
  forget_flash(it);
  it->host->set_level(it->device, level, 0);
  if (is_on_its_way(it)) {
    it->host->set_level(it->device, it->state->target, it->state->arrives - it->host->now(it->device));
  }
}

static void set_level(const module* it, uint16_t level, drybus_ns duration) {
  const uint16_t from = level_of(it);
  if (it->state->flashing) {
    stop(it, DRYBUS_TIMER_FLASH);
    forget_flash(it);
    if (duration > 0) it->host->set_level(it->device, from, 0);
  }
  it->state->moving = 0;
  it->state->target = level;
  it->state->arrives = 0;
  stop(it, TIMER_ARRIVAL);
  if (duration > 0 && level != from) {
    it->state->arrives = it->host->now(it->device) + duration;
    start(it, TIMER_ARRIVAL, duration);
  }
  it->host->set_level(it->device, level, duration);
}

/* An even pace: a part of the range takes that part of the time. */
static void move_to(const module* it, uint16_t level) {
  const uint16_t now = level_of(it);
  const int part = level > now ? level - now : now - level;
  set_level(it, level, it->numbers->module_full_range * part / (int)DRYBUS_FULL_LEVEL);
  it->state->moving = 1;
}

static void flash(const module* it) {
  const uint16_t level = level_of(it);
  forget_flash(it);
  if (is_on_its_way(it)) {
    it->state->flash_begun = it->host->now(it->device);
    it->state->flash_from = level;
  }
  it->state->flashing = 1;
  it->host->set_level(it->device, level > DRYBUS_FULL_LEVEL / 2 ? 0 : DRYBUS_FULL_LEVEL, 0);
  start(it, DRYBUS_TIMER_FLASH, it->numbers->module_flash);
}

/* --- setup --- */

static void enter_setup(const module* it) {
  it->state->in_setup = 1;
  it->state->spent = 1;
  tell(it, DRYBUS_TELL_GESTURE, 0, 0);
  tell(it, DRYBUS_TELL_MODE, DRYBUS_SETUP, DRYBUS_BY_GESTURE);
  start(it, DRYBUS_TIMER_TIME_OUT, it->numbers->module_time_out);
}

static void leave_setup(const module* it, uint32_t why) {
  it->state->in_setup = 0;
  tell(it, DRYBUS_TELL_MODE, DRYBUS_NORMAL, why);
  stop(it, DRYBUS_TIMER_TIME_OUT);
}

static void take(const module* it, const drybus_telegram* assign) {
  if (!it->state->in_setup) {
    tell(it, DRYBUS_TELL_ASSIGN_IGNORED, 0, 0);
    return;
  }
  if (assign->channel == 0 || assign->zone == 0) return;
  module_record* next = begin_write(it);
  if (assign->site != next->site && !PLANTED(POWER_UP_KEPT_ON_NEW_SITE)) next->power_up = DRYBUS_POWER_UP_OFF;
  next->site = assign->site;
  next->zone = assign->zone;
  next->channel = assign->channel;
  write_record(it, next);
  if (!PLANTED(SETUP_GOES_ON_AFTER_ASSIGN)) leave_setup(it, DRYBUS_BY_ASSIGN);
}

/* --- telegrams --- */

static int is_addressed(const module_record* record) {
  return record->channel != 0;
}

/* An unaddressed module obeys every zone of its site number. */
static int is_for_me(const module_record* record, const drybus_telegram* telegram) {
  return record->site == telegram->site && (!is_addressed(record) || record->zone == telegram->zone);
}

static void show_myself(const module* it, const drybus_telegram* identify) {
  const module_record* record = &it->state->record;
  if (!is_addressed(record) || record->site != identify->site || record->zone != identify->zone ||
      record->channel != identify->channel) {
    return;
  }
  it->state->steady = 1;
  start(it, DRYBUS_TIMER_STEADY, it->numbers->show_identify);
  flash(it);
}

static int has_scene(const module* it, uint8_t scene) {
  return scene >= 1 && scene <= it->numbers->module_scenes;
}

static void obey_level(const module* it, uint16_t level) {
  tell(it, DRYBUS_TELL_OBEYED, 0, 0);
  set_level(it, level, it->numbers->module_fade);
}

static void recall(const module* it, uint8_t scene) {
  if (!has_scene(it, scene) || it->state->record.scenes[scene - 1] == DRYBUS_NO_LEVEL) return;
  obey_level(it, it->state->record.scenes[scene - 1]);
}

static void store_scene(const module* it, uint8_t scene) {
  if (!has_scene(it, scene)) return;
  module_record* next = begin_write(it);
  next->scenes[scene - 1] = level_of(it);
  write_record(it, next);
}

static void obey(const module* it, const drybus_telegram* telegram) {
  switch (telegram->kind) {
    case DRYBUS_BEACON:
      it->state->breathing = 1;
      start(it, DRYBUS_TIMER_BREATHE, it->numbers->show_breathe);
      return;
    case DRYBUS_LEFT:
      it->state->breathing = 0;
      stop(it, DRYBUS_TIMER_BREATHE);
      return;
    case DRYBUS_ON:
      obey_level(it, DRYBUS_FULL_LEVEL);
      return;
    case DRYBUS_OFF:
      obey_level(it, 0);
      return;
    case DRYBUS_RECALL:
      recall(it, telegram->argument);
      return;
    case DRYBUS_STORE:
      store_scene(it, telegram->argument);
      return;
    case DRYBUS_RAISE:
    case DRYBUS_LOWER:
      tell(it, DRYBUS_TELL_OBEYED, 0, 0);
      move_to(it, telegram->kind == DRYBUS_RAISE ? DRYBUS_FULL_LEVEL : 0);
      return;
    case DRYBUS_STOP: /* a fade to a level goes on */
      if (!it->state->moving) return;
      tell(it, DRYBUS_TELL_OBEYED, 0, 0);
      set_level(it, level_of(it), 0);
      return;
    default:
      return;
  }
}

static void blip(const module* it) {
  if (!it->state->awake) {
    tell(it, DRYBUS_TELL_BLIP_UNSHOWN, 0, 0);
    return;
  }
  it->state->blipping = 1;
  start(it, DRYBUS_TIMER_BLIP, it->numbers->show_blip + (PLANTED(BLIPS_ARE_LONGER) ? 12000000 : 0));
}

/* --- the local button --- */

static void pressed(const module* it) {
  wake(it);
  it->state->spent = 0;
  if (it->state->in_setup) {
    it->state->spent = 1;
    leave_setup(it, DRYBUS_BY_BUTTON);
    return;
  }
  start(it, DRYBUS_TIMER_HOLD, it->numbers->module_setup_hold);
}

static void released(const module* it) {
  stop(it, DRYBUS_TIMER_HOLD);
  if (it->state->spent) return;
  set_level(it, is_lit(it) ? 0 : DRYBUS_FULL_LEVEL, it->numbers->module_fade);
}

static void contact_now(const module* it) {
  module_state* state = it->state;
  const uint8_t down = it->host->contacts(it->device) & 1;
  if (state->settling || down == state->down) return;
  state->down = down;
  state->settling = 1;
  start(it, DRYBUS_TIMER_DEBOUNCE, it->numbers->debounce);
  if (state->in_setup && it->numbers->module_time_out_from == DRYBUS_FROM_LAST_PRESS) {
    start(it, DRYBUS_TIMER_TIME_OUT, it->numbers->module_time_out);
  }
  if (down) {
    pressed(it);
  } else {
    released(it);
  }
}

/* --- handlers --- */

static void on_provision(const drybus_host* host, drybus_device* device, void* state,
                         const drybus_provision* provision) {
  const module it = module_of(host, device, state);
  module_record record = {0};
  record.site = provision->site;
  record.zone = provision->zone;
  record.channel = provision->channel;
  record.power_up = provision->power_up;
  memcpy(record.scenes, provision->scene_level, sizeof record.scenes);
  write_record(&it, &record);
  host->memory_write(device, LAST_LEVEL_AT, &provision->last_level, sizeof provision->last_level);
}

static uint16_t read_memory(const module* it) {
  module_record* record = &it->state->record;
  uint16_t last_level = 0;
  it->host->memory_read(it->device, RECORD_AT, record, sizeof *record);
  it->host->memory_read(it->device, LAST_LEVEL_AT, &last_level, sizeof last_level);
  if (record->checksum != checksum_of(record)) {
    *record = factory_record(it->numbers);
    write_record(it, record);
    last_level = 0;
  }
  tell_memory(it);
  return last_level;
}

static void on_reset(const drybus_host* host, drybus_device* device, void* state) {
  const module it = module_of(host, device, state);
  const uint16_t last_level = read_memory(&it);
  wake(&it);
  if (it.state->record.power_up == DRYBUS_POWER_UP_FULL) set_level(&it, DRYBUS_FULL_LEVEL, 0);
  if (it.state->record.power_up == DRYBUS_POWER_UP_LAST) set_level(&it, last_level, 0);
  if (PLANTED(SETUP_SURVIVES_POWER_CUT)) {
    uint8_t was_in_setup = 0;
    host->memory_read(device, SETUP_AT, &was_in_setup, 1);
    if (was_in_setup == 1) {
      it.state->in_setup = 1;
      tell(&it, DRYBUS_TELL_MODE, DRYBUS_SETUP, DRYBUS_BY_POWER);
      start(&it, DRYBUS_TIMER_TIME_OUT, it.numbers->module_time_out);
    }
  }
  show(&it);
}

static void on_button(const drybus_host* host, drybus_device* device, void* state, uint32_t button,
                      uint32_t closed) {
  const module it = module_of(host, device, state);
  (void)button;
  (void)closed;
  contact_now(&it);
  show(&it);
}

static void on_telegram(const drybus_host* host, drybus_device* device, void* state,
                        const drybus_telegram* telegram) {
  const module it = module_of(host, device, state);
  if (PLANTED(CRC_CHECKED_TOO_LATE) && telegram->kind == DRYBUS_ASSIGN && it.state->in_setup) {
    take(&it, telegram);
    if (telegram->intact) blip(&it);
    show(&it);
    return;
  }
  if (!telegram->intact) return;
  if (telegram->kind == DRYBUS_ASSIGN) {
    take(&it, telegram);
  } else if (telegram->kind == DRYBUS_IDENTIFY) {
    show_myself(&it, telegram);
  } else if (is_for_me(&it.state->record, telegram)) {
    obey(&it, telegram);
  }
  if (PLANTED(TIME_OUT_RESTARTS_ON_BLIPS) && it.state->in_setup) {
    start(&it, DRYBUS_TIMER_TIME_OUT, it.numbers->module_time_out);
  }
  blip(&it);
  show(&it);
}

static void on_timer(const drybus_host* host, drybus_device* device, void* state, uint32_t timer) {
  const module it = module_of(host, device, state);
  switch (timer) {
    case DRYBUS_TIMER_DEBOUNCE:
      it.state->settling = 0;
      contact_now(&it);
      break;
    case DRYBUS_TIMER_HOLD:
      enter_setup(&it);
      break;
    case DRYBUS_TIMER_TIME_OUT:
      leave_setup(&it, DRYBUS_BY_TIME_OUT);
      break;
    case DRYBUS_TIMER_STEADY:
      it.state->steady = 0;
      break;
    case DRYBUS_TIMER_BREATHE:
      it.state->breathing = 0;
      break;
    case DRYBUS_TIMER_BLIP:
      it.state->blipping = 0;
      break;
    case DRYBUS_TIMER_SLEEP:
      it.state->awake = 0;
      tell(&it, DRYBUS_TELL_BLIPS, 0, 0);
      break;
    case DRYBUS_TIMER_FLASH:
      end_flash(&it);
      break;
    case TIMER_ARRIVAL:
      it.state->arrives = 0;
      break;
    case DRYBUS_TIMER_STORE:
      end_write(&it);
      break;
    default:
      break;
  }
  show(&it);
}

static void on_power_lost(const drybus_host* host, drybus_device* device, void* state) {
  const module it = module_of(host, device, state);
  const uint16_t level = level_of(&it);
  host->memory_write(device, LAST_LEVEL_AT, &level, sizeof level);
  if (PLANTED(SETUP_SURVIVES_POWER_CUT)) host->memory_write(device, SETUP_AT, &it.state->in_setup, 1);
}

const drybus_firmware sample_module = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .flags = DRYBUS_HEARS_DAMAGED,
    .name = SAMPLE_NAME("module"),
    .state_size = sizeof(module_state),
    .memory_size = MEMORY_SIZE,
    .provision = on_provision,
    .reset = on_reset,
    .button = on_button,
    .telegram = on_telegram,
    .timer = on_timer,
    .power_lost = on_power_lost,
};
