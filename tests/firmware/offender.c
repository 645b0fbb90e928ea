/* A module that does one thing that it must not, once it is in use: -DOFFENCE=... says which. */
#include <assert.h>
#include <setjmp.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "model/firmware.h"

enum {
  CRASHES = 1,
  DIVIDES_BY_ZERO,
  NEVER_RETURNS,
  WRITES_PAST_THE_END,
  WRITES_JUST_PAST_THE_END,
  WRITES_BEFORE_THE_BEGINNING,
  WRITES_A_VARIABLE,
  ALLOCATES,
  FREES,
  EXITS,
  ABORTS,
  FAILS_AN_ASSERTION,
  RUNS_OUT_OF_STACK,
  ASKS_THE_TIME,
  ASKS_FOR_TOO_MUCH,
  STARTS_NO_TIMER,
  STARTS_TOO_SHORT_A_TIMER,
  SENDS_NO_TELEGRAM,
  READS_BEYOND_MEMORY,
  WAKES_ITSELF_ALL_THE_TIME,
  DIES_WITHOUT_A_SIGN,
  WAITS_FOR_EVER
};

typedef struct state {
  uint8_t presses;
  uint8_t bytes[12]; /* 13 in all: not a multiple of 16 */
} state;

volatile int counter;
volatile int zero;
void* volatile kept;

/* Where `offset` is only known when it runs, no compiler can warn. */
static void write_at(void* base, volatile ptrdiff_t offset) {
  /* cppcheck-suppress nullPointer ; that is the offence */
  ((volatile uint8_t*)base)[offset] = 1; /* NOLINT(clang-analyzer-core.NullDereference): likewise */
}

static int deep(volatile int level) {
  volatile char much[4096] = {0};
  much[level % 4096] = (char)level;
  return level > 1000000 ? much[0] : deep(level + 1) + much[1];
}

/* What neither a signal nor a replaced call can catch: a system call of one's own. */
static void kill_the_process(void) {
#if defined(__x86_64__)
  long ignored = 0;
  __asm__ volatile("syscall"
                   : "=a"(ignored)
                   : "0"(231L), "D"(7L)
                   : "rcx", "r11", "memory"); /* exit_group(7) */
#else
  /* cppcheck-suppress nullPointer ; that is the offence */
  ((volatile uint8_t*)0)[0] = 1;
#endif
}

static void offend(const drybus_host* host, drybus_device* device, state* mine) {
  switch (OFFENCE) {
    case CRASHES:
      write_at(NULL, 8);
      return;
    case DIVIDES_BY_ZERO:
      mine->presses = (uint8_t)(mine->presses / zero);
      return;
    case NEVER_RETURNS:
      for (;;) (void)host->contacts(device);
    case WRITES_PAST_THE_END:
      memset(mine, 0, sizeof *mine + 100u + (size_t)zero);
      return;
    case WRITES_JUST_PAST_THE_END:
      write_at(mine, (ptrdiff_t)sizeof *mine);
      return;
    case WRITES_BEFORE_THE_BEGINNING:
      write_at(mine, -1);
      return;
    case WRITES_A_VARIABLE:
      counter = 1;
      return;
    case ALLOCATES:
      kept = malloc(16);
      return;
    case FREES:
      free(kept);
      return;
    case EXITS:
      exit(0);
    case ABORTS:
      abort();
    case FAILS_AN_ASSERTION:
      assert(zero == 1);
      return;
    case RUNS_OUT_OF_STACK:
      mine->presses = (uint8_t)deep(0);
      return;
    case ASKS_THE_TIME:
      mine->presses = (uint8_t)time(NULL);
      return;
    case ASKS_FOR_TOO_MUCH:
      for (unsigned i = 0; i < DRYBUS_MOST_REQUESTS + 1; ++i) host->stop_timer(device, 0);
      return;
    case STARTS_NO_TIMER:
      host->start_timer(device, DRYBUS_TIMERS, 1000000);
      return;
    case STARTS_TOO_SHORT_A_TIMER:
      host->start_timer(device, 0, 0);
      return;
    case SENDS_NO_TELEGRAM:
      host->send(device, 0, 1, 1, 1, 0);
      return;
    case READS_BEYOND_MEMORY:
      host->memory_read(device, 3, &mine->bytes, 2);
      return;
    case WAKES_ITSELF_ALL_THE_TIME:
      host->start_timer(device, DRYBUS_TIMER_HOLD, DRYBUS_SHORTEST_TIMER);
      return;
    case DIES_WITHOUT_A_SIGN:
      kill_the_process();
      return;
    case WAITS_FOR_EVER:
      for (;;) pause();
    default:
      return;
  }
}

/* Offends when its local button is pressed for the second time. */
static void on_button(const drybus_host* host, drybus_device* device, void* block, uint32_t button,
                      uint32_t closed) {
  state* mine = block;
  (void)button;
  if (closed && ++mine->presses == 2) offend(host, device, mine);
}

static void on_timer(const drybus_host* host, drybus_device* device, void* block, uint32_t timer) {
  (void)timer;
  offend(host, device, block);
}

static const drybus_firmware offender = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .name = "offender",
    .state_size = sizeof(state),
    .memory_size = 4,
    .button = on_button,
    .timer = on_timer,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &offender : NULL;
}
