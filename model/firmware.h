/* drybus firmware interface, version 1.2. Plain C11; also C++.
 *
 * Your own device logic, run by drybus in place of its built-in wall plates or dimmer modules. You build a shared
 * library that exports one function, `drybus_firmware_describe`. It hands out a description: what your firmware is,
 * how much state and memory one device of it needs, and the handlers to be called when something happens to a device.
 * Handlers are given a table of host functions, with which they act: start a timer, send a telegram, show a pattern.
 *
 * The rules that make hunts, sweeps and stepping back possible:
 *
 *   1. All that a device remembers lies in its block: `state_size` bytes that the host provides and hands to every
 *      handler. The host copies blocks, compares them and puts old ones back. Keep offsets in it, not pointers, and
 *      lengths of time, not times of day: a hunt knows a situation again only if the blocks are equal.
 *   2. A handler depends on its arguments and on what the host functions tell it, and on nothing else: no clock, no
 *      files, no variables outside the block, no memory from malloc.
 *   3. A handler returns soon. Waiting is done with timers.
 *
 * Code that is one loop, gone through every few milliseconds, has its handler `poll` called at that pace: see drybus_firmware.
 *
 * A handler that breaks a rule is stopped; the run it belongs to fails and says which device, handler and time it was.
 * Code that keeps its state in variables of its own is run in a second way: see DRYBUS_OWN_VARIABLES.
 *
 * Everything happens at an instant: no time passes while a handler runs. What a handler asks for is done in the order in
 * which it was asked, after the handler has returned.
 */
/* clang-format off */
/* NOLINTBEGIN(modernize-use-using): C has no other way */
#ifndef DRYBUS_FIRMWARE_H
#define DRYBUS_FIRMWARE_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The version of this interface: two numbers, which `drybus --version` tells, too. Its rules:
 *
 *   - DRYBUS_FIRMWARE_ABI grows when a library built against an older header could misbehave. Then it is refused, and built
 *     anew; nothing else has to be done to it than the list at the end of this file says.
 *   - DRYBUS_FIRMWARE_MINOR grows when something is added. Things are added at the end of drybus_host, drybus_numbers and
 *     drybus_firmware, or as a new number of an enumeration, and nowhere else; what is there keeps its place, its size, its
 *     meaning and its limits. A library built against an older header goes on as it did: what it leaves out of its description
 *     is as if it were 0. A library built against a newer header than the host's is refused, and told so.
 *   - What a handler is called with, when and in which order is part of the interface, as are the names of timers.
 *   - Limits may be raised in a minor version, never lowered.
 *
 * A library that wants to run on older hosts, too, is built against their header.
 */
#define DRYBUS_FIRMWARE_ABI 1u
#define DRYBUS_FIRMWARE_MINOR 2u

/* Limits. What is beyond them is refused when the library is loaded, or fails the run. */
#define DRYBUS_MOST_STATE_BYTES 65536u  /* of state_size */
#define DRYBUS_MOST_MEMORY_BYTES 65535u /* of memory_size */
#define DRYBUS_TIMERS 11u               /* timers of one device, numbered from 0 */
#define DRYBUS_MOST_REQUESTS 24u        /* things that one call of a handler may ask for or tell */
#define DRYBUS_FULL_LEVEL 1000u         /* a load's level is given in tenths of a percent */
#define DRYBUS_SHORTEST_TIMER 1000      /* ns */
#define DRYBUS_SHORTEST_POLL 100000     /* ns, of poll_period */
#define DRYBUS_LONGEST_POLL 10000000000 /* ns, of poll_period */
#define DRYBUS_LONGEST_LOG 1000u        /* bytes of a line that is logged; the rest is cut off */
#define DRYBUS_BUTTONS 16u              /* buttons of a plate, at most; a module has one, number 0 */
#define DRYBUS_SCENES 8u                /* scenes of a module, at most */
#define DRYBUS_NO_BUTTON 0xffu          /* a meaning that no button has */
#define DRYBUS_NO_LEVEL 0xffffu         /* a scene for which nothing is stored */

/* A time or a length of time, in nanoseconds. */
typedef int64_t drybus_ns;

/* What a device is. */
enum { DRYBUS_PLATE = 1, DRYBUS_MODULE = 2 };

/* The timers. You may use any of them for anything; these are the names under which the story of a run tells that one came
 * due. A hunt tries waits that end just before and just after DRYBUS_TIMER_TIME_OUT and DRYBUS_TIMER_SLEEP. */
enum {
  DRYBUS_TIMER_DEBOUNCE = 0,
  DRYBUS_TIMER_HOLD = 1,     /* a gesture or a long press is being held */
  DRYBUS_TIMER_TIME_OUT = 2, /* setup ends by itself */
  DRYBUS_TIMER_BEACON = 3,  /* goes by the device's own clock, which is off by a little; see the family's `clock` */
  DRYBUS_TIMER_REFUSE = 4,
  DRYBUS_TIMER_STEADY = 5,
  DRYBUS_TIMER_BREATHE = 6,
  DRYBUS_TIMER_BLIP = 7,
  DRYBUS_TIMER_SLEEP = 8, /* blips fall asleep */
  DRYBUS_TIMER_FLASH = 9, /* of the load, when it is identified */
  DRYBUS_TIMER_WINK = 9,  /* the same, as it was named at first */
  DRYBUS_TIMER_STORE = 10 /* memory is being written */
};

/* What the indicator shows. */
enum {
  DRYBUS_DARK = 0,
  DRYBUS_BLIP = 1,
  DRYBUS_BREATHE = 2,
  DRYBUS_BLINK = 3,
  DRYBUS_STEADY = 4,
  DRYBUS_REFUSE = 5
};

/* Kinds of telegrams: the first byte of a frame. */
enum {
  DRYBUS_BEACON = 1,   /* a plate is in setup */
  DRYBUS_LEFT = 2,     /* a plate has left setup */
  DRYBUS_IDENTIFY = 3, /* channel: which module shall show itself */
  DRYBUS_ASSIGN = 4,   /* offers site, zone and channel to whoever is in setup */
  DRYBUS_ON = 5,
  DRYBUS_OFF = 6,
  DRYBUS_RECALL = 7, /* argument: scene, from 1 */
  DRYBUS_STORE = 8,  /* argument: scene, from 1 */
  DRYBUS_RAISE = 9,
  DRYBUS_LOWER = 10,
  DRYBUS_STOP = 11 /* ends raise and lower */
};

/* A telegram as it was heard. The first seven bytes are the frame, in the order in which it lies on the bus. */
typedef struct drybus_telegram {
  uint8_t kind;     /* DRYBUS_BEACON ... DRYBUS_STOP; any value in a damaged one */
  uint8_t site;     /* 0 to 255 */
  uint8_t zone;     /* 0 to 255 */
  uint8_t channel;  /* 0 to 255; 0 where the kind has none */
  uint8_t argument; /* 0 to 255; 0 where the kind has none */
  uint8_t crc_high; /* CRC-16/XMODEM of the five bytes before it, as received */
  uint8_t crc_low;
  uint8_t intact;   /* not on the bus: 1 when the CRC fits. Of a telegram that is not intact nothing can be trusted. */
} drybus_telegram;

/* What a module does with its load when power comes on. */
enum { DRYBUS_POWER_UP_OFF = 0, DRYBUS_POWER_UP_FULL = 1, DRYBUS_POWER_UP_LAST = 2 };

/* What a plate's button does in normal mode. */
enum {
  DRYBUS_DO_NOTHING = 0,
  DRYBUS_DO_ON = 1,
  DRYBUS_DO_OFF = 2,
  DRYBUS_DO_RECALL = 3, /* scene */
  DRYBUS_DO_STORE = 4,  /* scene */
  DRYBUS_DO_RAISE = 5,  /* while held */
  DRYBUS_DO_LOWER = 6   /* while held */
};

typedef struct drybus_binding {
  uint8_t command; /* DRYBUS_DO_NOTHING ... DRYBUS_DO_LOWER */
  uint8_t scene;   /* 1 to DRYBUS_SCENES where the command has one, else 0 */
} drybus_binding;

/* When the setup time-out begins. */
enum { DRYBUS_FROM_ENTRY = 0, DRYBUS_FROM_LAST_PRESS = 1 };

/* The family's numbers (its YAML file): the same in every call of a run. Use them, or your own. */
typedef struct drybus_numbers {
  /* plates */
  uint8_t plate_buttons;     /* 1 to DRYBUS_BUTTONS */
  uint8_t plate_channels;    /* 1 to 255: the highest that can be stepped to */
  uint8_t plate_next;        /* buttons in setup: a number below plate_buttons, or DRYBUS_NO_BUTTON */
  uint8_t plate_previous;
  uint8_t plate_identify;
  uint8_t plate_assign;
  uint8_t plate_leave;
  uint8_t plate_announces_leaving;                   /* 1: sends DRYBUS_LEFT */
  uint8_t plate_time_out_from;                       /* DRYBUS_FROM_ENTRY or DRYBUS_FROM_LAST_PRESS */
  uint8_t plate_spare;                               /* 0 */
  uint16_t plate_setup_gesture;                      /* buttons held together, a bit each */
  drybus_binding plate_press[DRYBUS_BUTTONS];        /* in normal mode */
  drybus_binding plate_hold[DRYBUS_BUTTONS];         /* in normal mode, held for plate_long_press */
  drybus_ns plate_setup_hold;                        /* how long the gesture is held */
  drybus_ns plate_long_press;
  drybus_ns plate_time_out;
  drybus_ns plate_beacon;                            /* between two beacons */
  /* modules */
  uint8_t module_scenes;           /* 0 to DRYBUS_SCENES */
  uint8_t module_factory_site;
  uint8_t module_factory_power_up; /* DRYBUS_POWER_UP_... */
  uint8_t module_time_out_from;    /* DRYBUS_FROM_... */
  uint8_t module_spare[4];         /* 0 */
  drybus_ns module_setup_hold;
  drybus_ns module_time_out;
  drybus_ns module_store;      /* how long a write to memory takes */
  union {
    drybus_ns module_flash;  /* of the load, when it is identified */
    drybus_ns module_wink;   /* the same, as it was named at first */
  };
  drybus_ns module_fade;       /* on, off and scenes */
  drybus_ns module_full_range; /* raise and lower, from one end to the other */
  /* both */
  drybus_ns debounce;
  drybus_ns show_identify; /* how long each pattern shows */
  drybus_ns show_refuse;
  drybus_ns show_breathe;  /* after each beacon */
  drybus_ns show_blip;
  drybus_ns blips_sleep;   /* after the last local press or power-up */
  /* since 1.1: a module's memory as from the factory, where it has no record that is whole */
  uint16_t module_factory_last_level;                 /* 0 to DRYBUS_FULL_LEVEL */
  uint16_t module_factory_scene_level[DRYBUS_SCENES]; /* of scenes 1, 2 ...; 0 to DRYBUS_FULL_LEVEL, or DRYBUS_NO_LEVEL */
  uint8_t bus_is_radio;                               /* 1: radio, 0: a line */
  uint8_t spare[5];                                   /* 0 */
  drybus_ns bus_telegram;                             /* how long a telegram takes on the bus, from first bit to last */
} drybus_numbers;

/* What the scenario says that a module's memory holds when the run begins. */
typedef struct drybus_provision {
  uint8_t site;
  uint8_t zone;      /* 0 while unaddressed */
  uint8_t channel;   /* 0: unaddressed, as from the factory */
  uint8_t power_up;  /* DRYBUS_POWER_UP_... */
  uint16_t last_level;                 /* 0 to DRYBUS_FULL_LEVEL */
  uint16_t scene_level[DRYBUS_SCENES]; /* of scenes 1, 2 ...; 0 to DRYBUS_FULL_LEVEL, or DRYBUS_NO_LEVEL */
} drybus_provision;

/* What a device tells about itself, for views, stories and findings. Nobody on the bus can hear it and no person can see it.
 * Tell the truth: what you tell is what `expect` and the findings go by. */
enum {
  DRYBUS_TELL_MODE = 0,           /* a: DRYBUS_NORMAL or DRYBUS_SETUP, b: DRYBUS_BY_... */
  DRYBUS_TELL_CHANNEL = 1,        /* a plate in setup stands at channel a */
  DRYBUS_TELL_GESTURE = 2,        /* a gesture was held long enough */
  DRYBUS_TELL_REFUSED = 3,        /* a: DRYBUS_REFUSED_... */
  DRYBUS_TELL_ASSIGN_IGNORED = 4, /* an assign was heard out of setup */
  DRYBUS_TELL_POWER_UP = 5,       /* the power-up mode changed to a: DRYBUS_POWER_UP_... */
  DRYBUS_TELL_BLIPS = 6,          /* a: 1 blips are awake, 0 they sleep */
  DRYBUS_TELL_BLIP_UNSHOWN = 7,   /* a telegram was heard while blips slept */
  DRYBUS_TELL_OBEYED = 8          /* a telegram changed the load */
};
enum { DRYBUS_NORMAL = 0, DRYBUS_SETUP = 1 };
enum {
  DRYBUS_BY_GESTURE = 0, /* setup began */
  DRYBUS_BY_BUTTON = 1,  /* setup ended ... */
  DRYBUS_BY_TIME_OUT = 2,
  DRYBUS_BY_ASSIGN = 3,
  DRYBUS_BY_POWER = 4
};
enum { DRYBUS_REFUSED_CHANNEL_ZERO = 0, DRYBUS_REFUSED_ZONE_ZERO = 1, DRYBUS_REFUSED_NO_SUCH_CHANNEL = 2 };

/* Names the device that a handler is called for, to the host functions. It means nothing once the handler has returned. */
typedef struct drybus_device drybus_device;

/* What the host does for a handler. Asking for something impossible fails the run, and says what it was. */
typedef struct drybus_host {
  uint32_t abi;  /* DRYBUS_FIRMWARE_ABI of the host */
  uint32_t size; /* sizeof(drybus_host) of the host: later versions add functions at the end */

  /* --- to ask; answered at once --- */

  /* The time since the run began. */
  drybus_ns (*now)(const drybus_device* device);
  /* The family's numbers. They outlive the run. */
  const drybus_numbers* (*numbers)(const drybus_device* device);
  /* The buttons whose contacts are closed at this moment, a bit each, bouncing and all. */
  uint16_t (*contacts)(const drybus_device* device);
  /* A plate's switches as they stand: 0 to 255. 0 for a module. */
  uint8_t (*site_switch)(const drybus_device* device);
  uint8_t (*zone_switch)(const drybus_device* device);
  /* A module's load as it is now, in mid-fade too: 0 to DRYBUS_FULL_LEVEL. What this call asked for does not show yet. 0 for
   * a plate. */
  uint16_t (*level)(const drybus_device* device);
  /* A draw, uniform over all 32-bit numbers, from a stream that is the device's own: the same in every run with that seed. */
  uint32_t (*random)(drybus_device* device);
  /* Copies `size` bytes of the device's memory, from `offset` on. REQUIRES: offset + size <= memory_size. */
  void (*memory_read)(const drybus_device* device, uint32_t offset, void* to, uint32_t size);

  /* --- memory: kept when the power goes --- */

  /* Changes `size` bytes of memory at once. REQUIRES: offset + size <= memory_size. */
  void (*memory_write)(drybus_device* device, uint32_t offset, const void* from, uint32_t size);
  /* Real memory takes time to write. From here to store_end, bytes that memory_write changes are in danger: if the power goes
   * meanwhile, they all read 0xff afterwards, so that a checksum over them will not fit. Time it with a timer. A store within
   * a store is one store. Modules only. */
  void (*store_begin)(drybus_device* device);
  void (*store_end)(drybus_device* device);

  /* --- to ask for; done after the handler has returned --- */

  /* The timer comes due after `duration` (at least DRYBUS_SHORTEST_TIMER); one that is running starts again. `timer` is below
   * DRYBUS_TIMERS. */
  void (*start_timer)(drybus_device* device, uint32_t timer, drybus_ns duration);
  /* The timer will not come due; no matter whether it was running. */
  void (*stop_timer)(drybus_device* device, uint32_t timer);
  /* Hands a telegram to the bus, which takes care of its CRC, of listening first and of back-off. `kind` is one that
   * exists. */
  void (*send)(drybus_device* device, uint8_t kind, uint8_t site, uint8_t zone, uint8_t channel, uint8_t argument);
  /* The indicator shows `pattern` from now on. */
  void (*show)(drybus_device* device, uint32_t pattern);
  /* A module's load goes from where it is to `level` (0 to DRYBUS_FULL_LEVEL) at an even pace within `duration` (0: at
   * once). */
  void (*set_level)(drybus_device* device, uint32_t level, drybus_ns duration);

  /* --- to tell --- */

  /* See DRYBUS_TELL_MODE and the others; `a` and `b` are 0 where nothing is said of them. */
  void (*tell)(drybus_device* device, uint32_t what, uint32_t a, uint32_t b);
  /* What a module's memory holds, when it starts and before each store_end. channel 0: unaddressed. */
  void (*tell_memory)(drybus_device* device, uint8_t site, uint8_t zone, uint8_t channel, uint32_t power_up);

  /* --- since 1.1 --- */

  /* How many bytes of memory the device has: the description's memory_size. */
  uint32_t (*memory_size)(const drybus_device* device);

  /* --- since 1.2 --- */

  /* Milliseconds since the device's power came on, modulo 2^32: it wraps after 49.7 days. Only where there is a `poll`; else
   * since the run began. */
  uint32_t (*millis)(const drybus_device* device);
  /* 1 when `duration` ms or more have gone by since millis was `since`, modulo 2^32; else 0. Says the same as
   * (uint32_t)(millis - since) >= duration. But the host knows then what is waited for, and goes straight to it. */
  uint32_t (*passed)(const drybus_device* device, uint32_t since, uint32_t duration);
  /* A line for the record, with the device and the time: printable characters, the rest is shown as '?'. What the library
   * prints with printf and the like comes there, too. A line counts as a thing asked for. */
  void (*log)(drybus_device* device, const char* text);
} drybus_host;

/* Flags of a description, added up. */
enum {
  /* damaged telegrams are handed over, too (intact = 0), as a receiver hears them before it has checked the CRC */
  DRYBUS_HEARS_DAMAGED = 1,
  /* The second way, for existing code: the library keeps its state in variables of its own (static or global). The host puts
   * each device's own values in place before every call and takes them out again after it. state_size is 0, `state` is NULL.
   * Variables may point at each other, at functions of the library, at the host functions and at the device. Handlers of
   * such a library may allocate, but what they allocate is not taken back when a world is: where old states are put back
   * (hunt, the panel, why --prove, compare --hunt) a handler that allocates is stopped. */
  DRYBUS_OWN_VARIABLES = 2
};

/* The description of a firmware. Handlers that are NULL are not called. */
typedef struct drybus_firmware {
  uint32_t abi;         /* DRYBUS_FIRMWARE_ABI */
  uint32_t size;        /* sizeof(drybus_firmware) */
  uint32_t kind;        /* DRYBUS_PLATE or DRYBUS_MODULE */
  uint32_t flags;       /* DRYBUS_HEARS_DAMAGED ... */
  const char* name;     /* for reports: "hall dimmer 2.1"; 1 to 80 printable characters */
  uint32_t state_size;  /* bytes of a device's block, 0 to DRYBUS_MOST_STATE_BYTES; aligned to 16; all 0 when power comes on */
  uint32_t memory_size; /* bytes that are kept without power, 0 to DRYBUS_MOST_MEMORY_BYTES; all 0xff at first */

  /* Once, before the run begins: write to memory what the scenario says is there. Only memory_write and numbers make sense.
   * `provision` is NULL for a plate. */
  void (*provision)(const drybus_host* host, drybus_device* device, void* state, const drybus_provision* provision);
  /* Power has come on, or the run begins. The block is all 0; no timer runs; the indicator is dark, a load is at 0. */
  void (*reset)(const drybus_host* host, drybus_device* device, void* state);
  /* A button's contact has closed (`closed` 1) or opened (0). Contacts bounce. */
  void (*button)(const drybus_host* host, drybus_device* device, void* state, uint32_t button, uint32_t closed);
  /* A telegram was heard. Never one's own. */
  void (*telegram)(const drybus_host* host, drybus_device* device, void* state, const drybus_telegram* telegram);
  /* A timer has come due; it no longer runs. */
  void (*timer)(const drybus_host* host, drybus_device* device, void* state, uint32_t timer);
  /* The last moment before power is gone. Only memory can still be changed; everything else is forgotten by the host. */
  void (*power_lost)(const drybus_host* host, drybus_device* device, void* state);

  /* --- since 1.2 --- */

  /* One turn of the main loop. With it goes poll_period, from DRYBUS_SHORTEST_POLL to DRYBUS_LONGEST_POLL, else 0. It is
   * called one period after `reset`, and then every period for as long as there is power. At one moment everything else comes
   * before it. Turns that change nothing are not all gone through; it makes no difference but to how long a run takes. Best
   * is a turn that leaves all variables as they were and asks for no time but by `passed`. Next best is one that changes up
   * to four 32-bit words by the same amount each time, such as a count of ticks, also of ticks that begins again, and looks at
   * clocks: where it goes by sums, differences and comparisons of these, turns are left out as well. Setting a level, a
   * mode or a channel that is so already is nothing in it. */
  void (*poll)(const drybus_host* host, drybus_device* device, void* state);
  drybus_ns poll_period;
} drybus_firmware;

/* What changed:
 *   1.2  drybus_firmware: poll, poll_period; drybus_host: millis, passed, log. Libraries with variables of their own can be
 *        hunted and put back.
 *   1.1  drybus_numbers: the memory as from the factory, the bus; drybus_host: memory_size.
 *   1.0  the first. */

/* The one symbol that a library exports: the description of its firmware of this kind (DRYBUS_PLATE, DRYBUS_MODULE), or NULL
 * when it has none. `abi` is the host's DRYBUS_FIRMWARE_ABI. What it points to stays as it is for as long as the library is
 * loaded. */
#if defined(__GNUC__)
__attribute__((visibility("default")))
#endif
const drybus_firmware* drybus_firmware_describe(uint32_t abi, uint32_t kind);

#ifdef __cplusplus
}
#endif

/* NOLINTEND(modernize-use-using) */
#endif
