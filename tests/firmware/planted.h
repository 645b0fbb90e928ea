/* The mistakes that can be planted in the sample firmware, one at a time: -DDRYBUS_PLANTED=3. Without it, none is: that
 * is the reference, which does in C what drybus does by itself. */
#ifndef PLANTED_H
#define PLANTED_H

enum {
  NOTHING_PLANTED = 0,
  TIME_OUT_RESTARTS_ON_BLIPS = 1, /* any telegram that a module in setup hears begins its time-out anew */
  IDENTIFY_STEPS = 2,             /* identify goes on to the next channel, too */
  ASSIGNS_CHANNEL_ZERO = 3,       /* assign at channel 0 is sent, not refused */
  CRC_CHECKED_TOO_LATE = 4,       /* a module in setup takes an assign before it knows whether the CRC fits */
  SETUP_SURVIVES_POWER_CUT = 5,   /* a module that was in setup is in setup when power comes back */
  POWER_UP_KEPT_ON_NEW_SITE = 6,  /* a changed site number leaves the power-up mode as it was */
  SETUP_GOES_ON_AFTER_ASSIGN =
      7, /* a module that has taken an address stays in setup, and takes the next one, too */
  BEACONS_GO_ON_AFTER_LEAVING = 8, /* a plate that has left setup goes on sending beacons */
  BLIPS_ARE_LONGER = 9             /* a module's blip lasts 12 ms longer: nobody would call it a mistake */
};

#ifndef DRYBUS_PLANTED
#define DRYBUS_PLANTED NOTHING_PLANTED
#endif

#define PLANTED(mistake) (DRYBUS_PLANTED == (mistake))

#if DRYBUS_PLANTED
#define SAMPLE_NAME_(number) " with mistake " #number
#define SAMPLE_NAME__(number) SAMPLE_NAME_(number)
#define SAMPLE_NAME(kind) "sample " kind SAMPLE_NAME__(DRYBUS_PLANTED)
#else
#define SAMPLE_NAME(kind) "reference " kind
#endif

#endif
