#include "dimmer.h"

enum { DARK = 0, BLIP = 1, BLINK = 3, STEADY = 4 };
enum { IDENTIFY = 3, ASSIGN = 4, ON = 5, OFF = 6 };
enum { BY_GESTURE = 0, BY_BUTTON = 1, BY_TIME_OUT = 2, BY_ASSIGN = 3 };

#define TICKS(ms) ((uint16_t)((ms) / DIMMER_TICK_MS))
#define DEBOUNCE TICKS(20)
#define HELD TICKS(3500)
#define TIME_OUT TICKS(150000)
#define BLIP_SHOWS TICKS(600)
#define IDENTIFY_SHOWS TICKS(2000)
#define FADE_MS 700u

/* What a board keeps in its EEPROM. */
static struct {
  uint8_t site, zone, channel;
} memory = {50, 0, 0};

static uint8_t contact;  /* as it is now, bouncing and all */
static uint8_t down;     /* debounced */
static uint8_t settling; /* ticks for which it has been otherwise */
static uint16_t held;
static uint8_t in_setup;
static uint16_t setup_left;
static uint16_t blip_left;
static uint16_t steady_left;
static uint8_t lit;
static uint8_t shown;

static void show(void) {
  const uint8_t pattern = steady_left ? STEADY : in_setup ? BLINK : blip_left ? BLIP : DARK;
  if (pattern == shown) return;
  shown = pattern;
  board_show(pattern);
}

static void set_lit(uint8_t on) {
  lit = on;
  board_level(on ? 1000u : 0u, FADE_MS);
}

static void set_setup(uint8_t on, uint8_t because) {
  in_setup = on;
  setup_left = on ? TIME_OUT : 0;
  board_tell_mode(on, because);
}

void dimmer_power_on(void) {
  contact = down = settling = in_setup = lit = shown = 0;
  held = setup_left = blip_left = steady_left = 0;
  board_stored(memory.site, memory.zone, memory.channel);
}

void dimmer_contact(uint8_t closed) {
  contact = closed;
}

static void pressed(void) {
  held = in_setup ? HELD : 0; /* a press in setup only leaves it */
  if (in_setup) set_setup(0, BY_BUTTON);
}

static void look_at_button(void) {
  if (contact == down) {
    settling = 0;
  } else if (++settling >= DEBOUNCE) {
    settling = 0;
    down = contact;
    if (down) {
      pressed();
    } else if (held < HELD) {
      set_lit(!lit);
    }
  }
  if (down && held < HELD && ++held == HELD) set_setup(1, BY_GESTURE);
}

static uint16_t crc_of(const uint8_t* bytes, uint8_t count) { /* CRC-16/XMODEM */
  uint16_t crc = 0;
  uint8_t bit;
  while (count--) {
    crc = (uint16_t)(crc ^ (uint16_t)(*bytes++ << 8));
    for (bit = 0; bit < 8; ++bit) crc = (uint16_t)((crc & 0x8000u) ? ((unsigned)crc << 1) ^ 0x1021u : (unsigned)crc << 1);
  }
  return crc;
}

void dimmer_frame(const uint8_t frame[7]) {
  const uint8_t mine = frame[1] == memory.site && (memory.channel == 0 || frame[2] == memory.zone);
  if (crc_of(frame, 7) != 0) return;
  blip_left = BLIP_SHOWS;
  switch (frame[0]) {
    case IDENTIFY:
      if (mine && memory.channel != 0 && frame[3] == memory.channel) steady_left = IDENTIFY_SHOWS;
      break;
    case ASSIGN:
      if (!in_setup || frame[2] == 0 || frame[3] == 0) break;
      memory.site = frame[1];
      memory.zone = frame[2];
      memory.channel = frame[3];
      board_stored(memory.site, memory.zone, memory.channel);
      set_setup(0, BY_ASSIGN);
      break;
    case ON:
    case OFF:
      if (mine) set_lit(frame[0] == ON);
      break;
    default:
      break;
  }
  show();
}

void dimmer_tick(void) {
  look_at_button();
  if (setup_left && --setup_left == 0) set_setup(0, BY_TIME_OUT);
  if (blip_left) --blip_left;
  if (steady_left) --steady_left;
  show();
}
