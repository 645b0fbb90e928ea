/* The wall plate of the sample firmware. */
#include <stddef.h>

#include "sample.h"

/* All that a plate remembers. Every byte of it is named, so that two plates in the same situation have equal blocks. */
typedef struct plate_state {
  uint8_t in_setup;
  uint8_t channel;
  uint16_t down;    /* buttons, debounced */
  uint8_t tracked;  /* the one button whose press or hold is being told apart, or DRYBUS_NO_BUTTON */
  uint8_t spent;    /* the buttons that are down have had their effect */
  uint8_t moving;   /* raise or lower was sent; stop is owed */
  uint8_t awake;    /* blips are shown */
  uint8_t refusing;
  uint8_t blipping;
  uint8_t spare[6];
  drybus_ns settles[DRYBUS_BUTTONS]; /* when each contact may be read again; 0 when it may */
} plate_state;

/* One call of a handler. */
typedef struct plate {
  const drybus_host* host;
  drybus_device* device;
  plate_state* state;
  const drybus_numbers* numbers;
} plate;

static plate plate_of(const drybus_host* host, drybus_device* device, void* state) {
  const plate it = {host, device, state, host->numbers(device)};
  return it;
}

static void start(const plate* it, uint32_t timer, drybus_ns duration) {
  it->host->start_timer(it->device, timer, duration);
}

static void stop(const plate* it, uint32_t timer) {
  it->host->stop_timer(it->device, timer);
}

static void tell(const plate* it, uint32_t what, uint32_t a, uint32_t b) {
  it->host->tell(it->device, what, a, b);
}

static void send(const plate* it, uint8_t kind, uint8_t channel, uint8_t argument) {
  it->host->send(it->device, kind, it->host->site_switch(it->device), it->host->zone_switch(it->device),
                 channel, argument);
}

/* What shows when several apply: refuse, before setup, before a blip. */
static void show(const plate* it) {
  uint32_t pattern = DRYBUS_DARK;
  if (it->state->refusing) {
    pattern = DRYBUS_REFUSE;
  } else if (it->state->in_setup) {
    pattern = DRYBUS_BLINK;
  } else if (it->state->blipping) {
    pattern = DRYBUS_BLIP;
  }
  it->host->show(it->device, pattern);
}

static void wake(const plate* it) {
  if (!it->state->awake) tell(it, DRYBUS_TELL_BLIPS, 1, 0);
  it->state->awake = 1;
  start(it, DRYBUS_TIMER_SLEEP, it->numbers->blips_sleep);
}

static void refuse(const plate* it, uint32_t why) {
  it->state->refusing = 1;
  start(it, DRYBUS_TIMER_REFUSE, it->numbers->show_refuse);
  tell(it, DRYBUS_TELL_REFUSED, why, 0);
}

/* --- setup --- */

static void beacon(const plate* it) {
  send(it, DRYBUS_BEACON, 0, 0);
  start(it, DRYBUS_TIMER_BEACON, it->numbers->plate_beacon);
}

static void enter_setup(const plate* it) {
  it->state->in_setup = 1;
  it->state->channel = 0;
  it->state->spent = 1;
  tell(it, DRYBUS_TELL_GESTURE, 0, 0);
  tell(it, DRYBUS_TELL_MODE, DRYBUS_SETUP, DRYBUS_BY_GESTURE);
  start(it, DRYBUS_TIMER_TIME_OUT, it->numbers->plate_time_out);
  beacon(it);
}

static void leave_setup(const plate* it, uint32_t why) {
  it->state->in_setup = 0;
  it->state->channel = 0;
  it->state->spent = it->state->down != 0;
  it->state->tracked = DRYBUS_NO_BUTTON;
  tell(it, DRYBUS_TELL_MODE, DRYBUS_NORMAL, why);
  stop(it, DRYBUS_TIMER_TIME_OUT);
  if (!PLANTED(BEACONS_GO_ON_AFTER_LEAVING)) stop(it, DRYBUS_TIMER_BEACON);
  if (it->numbers->plate_announces_leaving) send(it, DRYBUS_LEFT, 0, 0);
}

static void go_to_channel(const plate* it, uint8_t channel) {
  it->state->channel = channel;
  tell(it, DRYBUS_TELL_CHANNEL, channel, 0);
  if (channel != 0) send(it, DRYBUS_IDENTIFY, channel, 0);
}

static void step_up(const plate* it) {
  if (it->state->channel >= it->numbers->plate_channels) {
    refuse(it, DRYBUS_REFUSED_NO_SUCH_CHANNEL);
  } else {
    go_to_channel(it, (uint8_t)(it->state->channel + 1));
  }
}

static void step_down(const plate* it) {
  if (it->state->channel == 0) {
    refuse(it, DRYBUS_REFUSED_NO_SUCH_CHANNEL);
  } else {
    go_to_channel(it, (uint8_t)(it->state->channel - 1));
  }
}

static void identify_again(const plate* it) {
  if (it->state->channel == 0) {
    refuse(it, DRYBUS_REFUSED_CHANNEL_ZERO);
  } else if (PLANTED(IDENTIFY_STEPS)) {
    step_up(it);
  } else {
    send(it, DRYBUS_IDENTIFY, it->state->channel, 0);
  }
}

static void assign(const plate* it) {
  if (it->state->channel == 0 && !PLANTED(ASSIGNS_CHANNEL_ZERO)) {
    refuse(it, DRYBUS_REFUSED_CHANNEL_ZERO);
  } else if (it->host->zone_switch(it->device) == 0) {
    refuse(it, DRYBUS_REFUSED_ZONE_ZERO);
  } else {
    send(it, DRYBUS_ASSIGN, it->state->channel, 0);
  }
}

static void pressed_in_setup(const plate* it, uint8_t button) {
  const drybus_numbers* numbers = it->numbers;
  if (button == numbers->plate_next) {
    step_up(it);
  } else if (button == numbers->plate_previous) {
    step_down(it);
  } else if (button == numbers->plate_identify) {
    identify_again(it);
  } else if (button == numbers->plate_assign) {
    assign(it);
  } else if (button == numbers->plate_leave) {
    leave_setup(it, DRYBUS_BY_BUTTON);
  }
}

/* --- normal mode --- */

static void carry_out(const plate* it, drybus_binding binding) {
  switch (binding.command) {
    case DRYBUS_DO_ON:
      send(it, DRYBUS_ON, 0, 0);
      return;
    case DRYBUS_DO_OFF:
      send(it, DRYBUS_OFF, 0, 0);
      return;
    case DRYBUS_DO_RECALL:
      send(it, DRYBUS_RECALL, 0, binding.scene);
      return;
    case DRYBUS_DO_STORE:
      send(it, DRYBUS_STORE, 0, binding.scene);
      return;
    case DRYBUS_DO_RAISE:
    case DRYBUS_DO_LOWER:
      it->state->moving = 1;
      send(it, binding.command == DRYBUS_DO_RAISE ? DRYBUS_RAISE : DRYBUS_LOWER, 0, 0);
      return;
    default:
      return;
  }
}

static uint16_t only(uint8_t button) {
  return (uint16_t)(1u << button);
}

/* A button that can also be held, alone or in the gesture, shows what was meant only when it comes up again. */
static int waits_for_release(const plate* it, uint8_t button) {
  return it->numbers->plate_hold[button].command != DRYBUS_DO_NOTHING ||
         (it->numbers->plate_setup_gesture & only(button)) != 0;
}

static void pressed_in_normal_mode(const plate* it, uint8_t button) {
  if (it->state->down != only(button)) it->state->spent = 1; /* a chord: never anybody's single press */
  if (!waits_for_release(it, button)) {
    if (!it->state->spent) carry_out(it, it->numbers->plate_press[button]);
    it->state->spent = 1;
  }
  it->state->tracked = button;
}

static void time_the_hold(const plate* it) {
  const plate_state* state = it->state;
  if (state->down == it->numbers->plate_setup_gesture) {
    start(it, DRYBUS_TIMER_HOLD, it->numbers->plate_setup_hold);
    return;
  }
  if (!state->spent && state->tracked != DRYBUS_NO_BUTTON && state->down == only(state->tracked) &&
      it->numbers->plate_hold[state->tracked].command != DRYBUS_DO_NOTHING) {
    start(it, DRYBUS_TIMER_HOLD, it->numbers->plate_long_press);
    return;
  }
  stop(it, DRYBUS_TIMER_HOLD);
}

static void held_long_enough(const plate* it) {
  if (it->state->in_setup) return;
  if (it->state->down == it->numbers->plate_setup_gesture) {
    enter_setup(it);
  } else if (!it->state->spent && it->state->tracked != DRYBUS_NO_BUTTON) {
    it->state->spent = 1;
    carry_out(it, it->numbers->plate_hold[it->state->tracked]);
  }
}

static void released(const plate* it, uint8_t button) {
  if (it->state->moving) {
    it->state->moving = 0;
    send(it, DRYBUS_STOP, 0, 0);
  } else if (!it->state->in_setup && !it->state->spent && button == it->state->tracked) {
    carry_out(it, it->numbers->plate_press[button]);
  }
}

/* --- contacts --- */

static uint16_t settling(const plate* it) {
  uint16_t buttons = 0;
  for (uint8_t button = 0; button < DRYBUS_BUTTONS; ++button) {
    if (it->state->settles[button] != 0) buttons |= only(button);
  }
  return buttons;
}

/* One timer serves all buttons: it runs until the first of them has settled. */
static void time_settling(const plate* it) {
  drybus_ns first = 0;
  for (uint8_t button = 0; button < DRYBUS_BUTTONS; ++button) {
    const drybus_ns at = it->state->settles[button];
    if (at != 0 && (first == 0 || at < first)) first = at;
  }
  if (first != 0) start(it, DRYBUS_TIMER_DEBOUNCE, first - it->host->now(it->device));
}

static void contacts_now(const plate* it) {
  plate_state* state = it->state;
  const uint16_t contacts = it->host->contacts(it->device);
  const uint16_t changed = (uint16_t)((contacts ^ state->down) & ~settling(it));
  const uint16_t fresh = contacts & changed;
  const uint16_t gone = state->down & changed;
  const uint8_t was_setup = state->in_setup;
  if (changed == 0) return;
  state->down ^= changed;
  for (uint8_t button = 0; changed >> button != 0; ++button) {
    if (changed & only(button)) state->settles[button] = it->host->now(it->device) + it->numbers->debounce;
  }
  for (uint8_t button = 0; gone >> button != 0; ++button) {
    if (gone & only(button)) released(it, button);
  }
  if (fresh != 0) wake(it);
  if (fresh != 0 && was_setup && it->numbers->plate_time_out_from == DRYBUS_FROM_LAST_PRESS) {
    start(it, DRYBUS_TIMER_TIME_OUT, it->numbers->plate_time_out);
  }
  for (uint8_t button = 0; fresh >> button != 0; ++button) {
    if ((fresh & only(button)) == 0) continue;
    if (state->in_setup) {
      pressed_in_setup(it, button);
    } else {
      pressed_in_normal_mode(it, button);
    }
  }
  if (!state->in_setup && !was_setup) time_the_hold(it);
  if (state->down == 0) {
    state->spent = 0;
    state->tracked = DRYBUS_NO_BUTTON;
  }
}

static void settled(const plate* it) {
  const drybus_ns now = it->host->now(it->device);
  for (uint8_t button = 0; button < DRYBUS_BUTTONS; ++button) {
    if (it->state->settles[button] == 0 || it->state->settles[button] > now) continue;
    it->state->settles[button] = 0;
    contacts_now(it);
  }
}

/* --- handlers --- */

static void on_reset(const drybus_host* host, drybus_device* device, void* state) {
  const plate it = plate_of(host, device, state);
  it.state->tracked = DRYBUS_NO_BUTTON;
  wake(&it);
  show(&it);
}

static void on_button(const drybus_host* host, drybus_device* device, void* state, uint32_t button,
                      uint32_t closed) {
  const plate it = plate_of(host, device, state);
  (void)button;
  (void)closed;
  contacts_now(&it);
  time_settling(&it);
  show(&it);
}

static void on_telegram(const drybus_host* host, drybus_device* device, void* state,
                        const drybus_telegram* telegram) {
  const plate it = plate_of(host, device, state);
  (void)telegram;
  if (!it.state->awake) {
    tell(&it, DRYBUS_TELL_BLIP_UNSHOWN, 0, 0);
  } else {
    it.state->blipping = 1;
    start(&it, DRYBUS_TIMER_BLIP, it.numbers->show_blip);
  }
  show(&it);
}

static void on_timer(const drybus_host* host, drybus_device* device, void* state, uint32_t timer) {
  const plate it = plate_of(host, device, state);
  switch (timer) {
    case DRYBUS_TIMER_DEBOUNCE:
      settled(&it);
      time_settling(&it);
      break;
    case DRYBUS_TIMER_HOLD:
      held_long_enough(&it);
      break;
    case DRYBUS_TIMER_TIME_OUT:
      leave_setup(&it, DRYBUS_BY_TIME_OUT);
      break;
    case DRYBUS_TIMER_BEACON:
      beacon(&it);
      break;
    case DRYBUS_TIMER_REFUSE:
      it.state->refusing = 0;
      break;
    case DRYBUS_TIMER_BLIP:
      it.state->blipping = 0;
      break;
    case DRYBUS_TIMER_SLEEP:
      it.state->awake = 0;
      tell(&it, DRYBUS_TELL_BLIPS, 0, 0);
      break;
    default:
      break;
  }
  show(&it);
}

const drybus_firmware sample_plate = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_PLATE,
    .flags = 0,
    .name = SAMPLE_NAME("plate"),
    .state_size = sizeof(plate_state),
    .memory_size = 0,
    .provision = NULL,
    .reset = on_reset,
    .button = on_button,
    .telegram = on_telegram,
    .timer = on_timer,
    .power_lost = NULL,
};
