#include "link.h"

#include "dimmer.h"

enum { END = 0300, ESC = 0333, ESC_END = 0334, ESC_ESC = 0335 };

#define TICK_NS (DIMMER_TICK_MS * 1000000ull)
#define MOST_ACTS 16u
#define LONGEST_ACT 7u

/* --- what the dimmer did and the bridge has not been told --- */

typedef struct act {
  uint64_t at_ns;
  uint8_t size;
  uint8_t bytes[LONGEST_ACT]; /* the first is its type */
} act;

static act acts[MOST_ACTS];
static uint8_t acts_first;
static uint8_t acts_count;
static uint64_t now_ns;
static uint64_t next_tick_ns;

static void put_act(const uint8_t* bytes, uint8_t size) {
  act* to = &acts[(acts_first + acts_count) % MOST_ACTS];
  uint8_t i;
  if (acts_count == MOST_ACTS) return; /* a board would count what it loses */
  ++acts_count;
  to->at_ns = now_ns;
  to->size = size;
  for (i = 0; i < size; ++i) to->bytes[i] = bytes[i];
}

void board_show(uint8_t pattern) {
  const uint8_t bytes[2] = {'I', pattern};
  put_act(bytes, sizeof bytes);
}

void board_level(uint16_t level, uint32_t fade_ms) {
  const uint8_t bytes[7] = {'L',
                            (uint8_t)(level >> 8),
                            (uint8_t)level,
                            (uint8_t)(fade_ms >> 24),
                            (uint8_t)(fade_ms >> 16),
                            (uint8_t)(fade_ms >> 8),
                            (uint8_t)fade_ms};
  put_act(bytes, sizeof bytes);
}

void board_tell_mode(uint8_t in_setup, uint8_t because) {
  const uint8_t bytes[3] = {'M', in_setup, because};
  put_act(bytes, sizeof bytes);
}

void board_stored(uint8_t site, uint8_t zone, uint8_t channel) {
  const uint8_t bytes[5] = {'S', site, zone, channel, 0};
  put_act(bytes, sizeof bytes);
}

/* --- out --- */

static void write_escaped(uint8_t byte) {
  uint8_t pair[2] = {ESC, ESC_END};
  if (byte == ESC) pair[1] = ESC_ESC;
  if (byte == END || byte == ESC) {
    board_write(pair, 2);
  } else {
    board_write(&byte, 1);
  }
}

static void answer(uint64_t at_ns, const uint8_t* bytes, uint8_t size) {
  const uint8_t end = END;
  int8_t shift;
  uint8_t i;
  board_write(&end, 1);
  write_escaped(bytes[0]);
  for (shift = 56; shift >= 0; shift = (int8_t)(shift - 8)) write_escaped((uint8_t)(at_ns >> shift));
  for (i = 1; i < size; ++i) write_escaped(bytes[i]);
  board_write(&end, 1);
}

/* Time may go on until then: the loop is polled until the dimmer does something. */
static void go_on(uint64_t until_ns) {
  static const uint8_t nothing = 'N';
  while (acts_count == 0 && next_tick_ns <= until_ns) {
    now_ns = next_tick_ns;
    next_tick_ns += TICK_NS;
    dimmer_tick();
  }
  if (acts_count != 0) {
    const act* first = &acts[acts_first];
    answer(first->at_ns, first->bytes, first->size);
    acts_first = (uint8_t)((acts_first + 1u) % MOST_ACTS);
    --acts_count;
  } else {
    answer(until_ns, &nothing, 1);
  }
}

/* --- in --- */

static uint64_t number_at(const uint8_t* bytes) {
  uint64_t value = 0;
  uint8_t i;
  for (i = 0; i < 8; ++i) value = value << 8 | bytes[i];
  return value;
}

static void take(const uint8_t* packet, uint8_t size) {
  const uint8_t* rest = packet + 9;
  if (size < 9) return;
  if (packet[0] == 'T' && size == 17) {
    go_on(number_at(rest));
    return;
  }
  now_ns = number_at(packet + 1);
  if (packet[0] == 'P' && size == 10 && rest[0]) {
    next_tick_ns = now_ns + TICK_NS;
    dimmer_power_on();
  }
  if (packet[0] == 'C' && size == 11) dimmer_contact(rest[1]);
  if (packet[0] == 'F' && size == 16) dimmer_frame(rest);
}

void link_byte(uint8_t byte) {
  static uint8_t packet[64];
  static uint8_t size;
  static uint8_t escaped;
  if (byte == END) {
    if (size != 0 && size < sizeof packet) take(packet, size);
    size = escaped = 0;
    return;
  }
  if (byte == ESC) {
    escaped = 1;
    return;
  }
  if (escaped) byte = byte == ESC_END ? END : ESC;
  escaped = 0;
  if (size < sizeof packet) packet[size++] = byte;
}
