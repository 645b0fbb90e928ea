/* A module that ends, stops or hangs the process that it runs in, where no guard can help: -DHARM=... says how. */
#define _GNU_SOURCE
#include <signal.h>
#include <stddef.h>
#include <stdlib.h>
#include <sys/syscall.h>
#include <unistd.h>

#include "model/firmware.h"

enum {
  EXITS_WHEN_LOADED = 1,
  EXITS_WHEN_DESCRIBED,
  EXITS_IN_A_HANDLER,
  STOPS_ITSELF_IN_A_HANDLER,
  STOPS_ITSELF_WHEN_LOADED,
  HANGS_WHEN_LOADED,
  HANGS_OUT_OF_REACH,
  EXITS_WHEN_UNLOADED
};

/* System calls of its own: no call by name that could be replaced. */
static void stop_the_process(void) {
  (void)syscall(SYS_kill, syscall(SYS_getpid), SIGSTOP);
}

static void hang(void) {
  for (;;) (void)syscall(SYS_ppoll, NULL, 0L, NULL, NULL, 0L);
}

__attribute__((constructor)) static void on_load(void) {
  if (HARM == EXITS_WHEN_LOADED) _exit(0);
  if (HARM == STOPS_ITSELF_WHEN_LOADED) stop_the_process();
  if (HARM == HANGS_WHEN_LOADED) hang();
}

__attribute__((destructor)) static void on_unload(void) {
  if (HARM == EXITS_WHEN_UNLOADED) _exit(0);
}

static void on_button(const drybus_host* host, drybus_device* device, void* block, uint32_t button,
                      uint32_t closed) {
  sigset_t all;
  (void)host;
  (void)device;
  (void)block;
  (void)button;
  if (!closed) return;
  switch (HARM) {
    case EXITS_IN_A_HANDLER:
      (void)syscall(SYS_exit_group, 0);
      return;
    case STOPS_ITSELF_IN_A_HANDLER:
      stop_the_process();
      return;
    case HANGS_OUT_OF_REACH:
      sigfillset(&all);
      sigprocmask(SIG_BLOCK, &all, NULL);
      hang();
      return;
    default:
      return;
  }
}

static const drybus_firmware harm = {
    .abi = DRYBUS_FIRMWARE_ABI,
    .size = sizeof(drybus_firmware),
    .kind = DRYBUS_MODULE,
    .name = "harm",
    .state_size = 4,
    .button = on_button,
};

const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind) {
  if (HARM == EXITS_WHEN_DESCRIBED) exit(0);
  return abi == DRYBUS_FIRMWARE_ABI && kind == DRYBUS_MODULE ? &harm : NULL;
}
