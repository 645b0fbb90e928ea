/* A module that ends, stops or hangs the process that it runs in, where no guard can help: -DHARM=... says how. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <fenv.h>
#include <pthread.h>
#include <signal.h>
#include <stddef.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <time.h>
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
  EXITS_WHEN_UNLOADED,
  HANGS_WHEN_UNLOADED,
  FORKS_IN_A_HANDLER,
  FORKS_WHEN_LOADED,
  STARTS_A_THREAD_THAT_CRASHES,
  BECOMES_ANOTHER_PROGRAM,
  KILLS_ITS_PARENT,
  KILLS_ITS_GROUP,
  CLOSES_ALL_FILES,
  CHANGES_THE_FOLDER,
  WRITES_A_FILE,
  OPENS_A_SOCKET,
  TAKES_ALL_MEMORY,
  IGNORES_SIGNALS_AND_CRASHES,
  CHANGES_THE_ROUNDING,
  KEEPS_A_THREAD_LOCAL,
  ASKS_THE_KERNEL_FOR_THE_TIME,
  ASKS_THE_KERNEL_FOR_CHANCE,
  READS_A_FILE,
  CHANGES_THE_ROUNDING_BY_ITSELF,
  KEEPS_MEMORY_OF_ITS_OWN,
  COUNTS_CYCLES,
  COUNTS_CYCLES_WHEN_LOADED,
  ASKS_THE_LIBRARY_FOR_THE_TIME
};

static volatile uintptr_t nowhere = 8;

#if HARM == 23
static _Thread_local volatile int kept;
#endif

/* System calls of its own: no call by name that could be replaced. */
static void stop_the_process(void) {
  (void)syscall(SYS_kill, syscall(SYS_getpid), SIGSTOP);
}

static void hang(void) {
  for (;;) (void)syscall(SYS_ppoll, NULL, 0L, NULL, NULL, 0L);
}

static void crash(void) {
  *(volatile int*)nowhere = 1; /* NOLINT(performance-no-int-to-ptr) */
}

static void* crash_soon(void* nothing) {
  crash();
  return nothing;
}

/* Found at run time, so that there is no call by name that could be replaced. */
static void start_a_thread(void) {
  int (*create)(pthread_t*, const pthread_attr_t*, void* (*)(void*), void*);
  const struct timespec a_while = {0, 200000000};
  pthread_t thread;
  *(void**)&create = dlsym(RTLD_DEFAULT, "pthread_create");
  (void)create(&thread, NULL, crash_soon, NULL);
  (void)syscall(SYS_nanosleep, &a_while, NULL);
}

static void take_all_memory(void) {
  for (;;) {
    const long at = syscall(SYS_mmap, NULL, 1l << 28, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0L);
    if (at == -1) crash();
  }
}

/* Where nobody looks for a device's memory: how often it was asked, in this run or before. */
static int count_where_nobody_looks(void) {
  volatile int* count = (volatile int*)(uintptr_t)0x10000000000; /* NOLINT(performance-no-int-to-ptr) */
  (void)syscall(SYS_mmap, (void*)(uintptr_t)count, 4096L, PROT_READ | PROT_WRITE,
                MAP_PRIVATE | MAP_ANONYMOUS | MAP_FIXED_NOREPLACE, -1, 0L);
  return ++*count;
}

static void close_all_files(void) {
  long file;
  for (file = 0; file < 1024; ++file) (void)syscall(SYS_close, file);
}

__attribute__((constructor)) static void on_load(void) {
  if (HARM == FORKS_WHEN_LOADED && syscall(SYS_fork) == 0) hang();
  if (HARM == EXITS_WHEN_LOADED) _exit(0);
  if (HARM == STOPS_ITSELF_WHEN_LOADED) stop_the_process();
  if (HARM == HANGS_WHEN_LOADED) hang();
#if defined(__x86_64__)
  if (HARM == COUNTS_CYCLES_WHEN_LOADED) (void)__builtin_ia32_rdtsc();
#endif
}

__attribute__((destructor)) static void on_unload(void) {
  if (HARM == EXITS_WHEN_UNLOADED) _exit(0);
  if (HARM == HANGS_WHEN_UNLOADED) hang();
}

static void on_button(const drybus_host* host, drybus_device* device, void* block, uint32_t button,
                      uint32_t closed) {
  sigset_t all;
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
    case FORKS_IN_A_HANDLER:
      if (syscall(SYS_fork) == 0) hang();
      return;
    case STARTS_A_THREAD_THAT_CRASHES:
      start_a_thread();
      return;
    case BECOMES_ANOTHER_PROGRAM:
      (void)syscall(SYS_execve, "/bin/true", NULL, NULL);
      return;
    case KILLS_ITS_PARENT:
      (void)syscall(SYS_kill, syscall(SYS_getppid), SIGKILL);
      return;
    case KILLS_ITS_GROUP:
      (void)syscall(SYS_kill, 0, SIGKILL);
      return;
    case CLOSES_ALL_FILES:
      close_all_files();
      return;
    case CHANGES_THE_FOLDER:
      (void)syscall(SYS_chdir, "/");
      return;
    case WRITES_A_FILE:
      (void)syscall(SYS_openat, AT_FDCWD, "harm.txt", O_WRONLY | O_CREAT, 0600);
      return;
    case OPENS_A_SOCKET:
      (void)syscall(SYS_socket, AF_INET, SOCK_STREAM, 0);
      return;
    case TAKES_ALL_MEMORY:
      take_all_memory();
      return;
    case IGNORES_SIGNALS_AND_CRASHES:
      signal(SIGSEGV, SIG_IGN);
      crash();
      return;
    case CHANGES_THE_ROUNDING: {
      int (*set)(int);
      *(void**)&set = dlsym(RTLD_DEFAULT, "fesetround");
      (void)set(FE_UPWARD);
      return;
    }
#if HARM == 23
    case KEEPS_A_THREAD_LOCAL:
      ++kept;
      return;
#endif
    case KEEPS_MEMORY_OF_ITS_OWN:
      host->set_level(device, count_where_nobody_looks() % 2 ? DRYBUS_FULL_LEVEL : 0, 0);
      return;
    case ASKS_THE_KERNEL_FOR_THE_TIME: {
      struct timespec now;
      (void)syscall(SYS_clock_gettime, CLOCK_MONOTONIC, &now);
      return;
    }
    case ASKS_THE_KERNEL_FOR_CHANCE: {
      char drawn;
      (void)syscall(SYS_getrandom, &drawn, 1L, 0L);
      return;
    }
    case READS_A_FILE:
      (void)syscall(SYS_openat, AT_FDCWD, "/dev/urandom", O_RDONLY, 0);
      return;
#if defined(__x86_64__)
    case COUNTS_CYCLES: {
      unsigned which;
      host->set_level(device, (uint32_t)(__builtin_ia32_rdtscp(&which) % DRYBUS_FULL_LEVEL), 0);
      return;
    }
    case ASKS_THE_LIBRARY_FOR_THE_TIME: {
      int (*ask)(clockid_t, struct timespec*);
      struct timespec now;
      *(void**)&ask = dlsym(RTLD_DEFAULT, "clock_gettime");
      (void)ask(CLOCK_MONOTONIC, &now);
      return;
    }
    case CHANGES_THE_ROUNDING_BY_ITSELF:
      __builtin_ia32_ldmxcsr(__builtin_ia32_stmxcsr() | 0x6000u);
      return;
#endif
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
