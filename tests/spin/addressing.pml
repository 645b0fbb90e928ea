/*
 * How addresses are given out, reduced to what decides who ends up with which: the twin of addressing.h, state by state
 * and action by action.
 *
 * From the devices of model/plate.h and model/module.h it was abstracted thus:
 *   time        is left out. A time-out can come at any moment, so that it is the same step as leaving setup by hand.
 *   buttons     are left out. What a gesture or a press comes to is one step: enter, leave, next, previous, offer.
 *   a plate     keeps only whether it is in setup and its channel. Site and zone cannot change, so that an address is one
 *               number from 1 to PLATES * CHANNELS; 0 is none. Channel 0 cannot be offered, as in the full model.
 *   a module    keeps only whether it is in setup and its address. Loads, scenes, indicators and power are left out.
 *   the bus     carries one offer at a time, and nobody offers until the last one has reached everybody: carrier sense
 *               without collisions. Each module hears it or misses it in a step of its own, in any order. At most LOSSES
 *               times in all one misses it. Beacons, identifies and telegrams of normal mode are left out.
 *
 * Every step is one d_step, and there is one process that has nowhere else to be, so that the states that Spin counts are
 * those that we count.
 *
 *   spin -a -DPLATES=1 -DMODULES=3 -DCHANNELS=2 -DLOSSES=1 -DNEVER_SHARED addressing.pml
 *
 * What must never come about, which the verifier looks for:
 *   NEVER_UNSOUND     an address is stored or offered that no plate can offer: it never comes about (also if none is given)
 *   NEVER_SHARED      two modules hold the same address
 *   NEVER_INSTALLED   every module has an address of its own, and everything is in normal mode
 */
#ifndef PLATES
#define PLATES 1
#define MODULES 2
#define CHANNELS 2
#define LOSSES 0
#endif

bit plate_in_setup[PLATES];
byte channel[PLATES];
bit module_in_setup[MODULES];
byte address[MODULES];
byte offer;
byte to_hear;
byte lost;

#define EVERY_MODULE ((1 << MODULES) - 1)

#if MODULES == 1
#define EACH(what) what(0)
#elif MODULES == 2
#define EACH(what) what(0) && what(1)
#elif MODULES == 3
#define EACH(what) what(0) && what(1) && what(2)
#elif MODULES == 4
#define EACH(what) what(0) && what(1) && what(2) && what(3)
#elif MODULES == 5
#define EACH(what) what(0) && what(1) && what(2) && what(3) && what(4)
#endif

#define DIFFER(a, b) (address[a] == 0 || address[a] != address[b])
#if MODULES == 1
#define ALL_DIFFER true
#elif MODULES == 2
#define ALL_DIFFER (DIFFER(0, 1))
#elif MODULES == 3
#define ALL_DIFFER (DIFFER(0, 1) && DIFFER(0, 2) && DIFFER(1, 2))
#elif MODULES == 4
#define ALL_DIFFER (DIFFER(0, 1) && DIFFER(0, 2) && DIFFER(1, 2) && DIFFER(0, 3) && DIFFER(1, 3) && DIFFER(2, 3))
#elif MODULES == 5
#define ALL_DIFFER (DIFFER(0, 1) && DIFFER(0, 2) && DIFFER(1, 2) && DIFFER(0, 3) && DIFFER(1, 3) && DIFFER(2, 3) && \
                    DIFFER(0, 4) && DIFFER(1, 4) && DIFFER(2, 4) && DIFFER(3, 4))
#endif

#if PLATES == 1
#define PLATES_DONE (plate_in_setup[0] == 0)
#else
#define PLATES_DONE (plate_in_setup[0] == 0 && plate_in_setup[1] == 0)
#endif

#define SOUND(m) (address[m] <= PLATES * CHANNELS)
#define DONE(m) (module_in_setup[m] == 0 && address[m] != 0)

/* Spin leaves out of its states what nothing reads: each assertion reads `lost`, so that it counts whatever LOSSES is. */
#if defined(NEVER_SHARED)
#define CHECK assert(ALL_DIFFER && lost <= LOSSES)
#elif defined(NEVER_INSTALLED)
#define CHECK assert(!(PLATES_DONE && EACH(DONE) && offer == 0 && ALL_DIFFER) && lost <= LOSSES)
#else
#define CHECK assert(EACH(SOUND) && offer <= PLATES * CHANNELS && lost <= LOSSES)
#endif

#define REACHED(m) to_hear = to_hear & ~(1 << m); if :: to_hear == 0 -> offer = 0 :: else fi

#define PLATE(p)                                                                                                  \
  :: d_step { plate_in_setup[p] == 0 -> plate_in_setup[p] = 1; CHECK }                                            \
  :: d_step { plate_in_setup[p] == 1 -> plate_in_setup[p] = 0; channel[p] = 0; CHECK }                            \
  :: d_step { plate_in_setup[p] == 1 && channel[p] < CHANNELS -> channel[p]++; CHECK }                            \
  :: d_step { plate_in_setup[p] == 1 && channel[p] > 0 -> channel[p]--; CHECK }                                   \
  :: d_step { plate_in_setup[p] == 1 && channel[p] > 0 && offer == 0 ->                                           \
              offer = p * CHANNELS + channel[p]; to_hear = EVERY_MODULE; CHECK }

#define MODULE(m)                                                                                                 \
  :: d_step { module_in_setup[m] = 1 - module_in_setup[m]; CHECK }                                                \
  :: d_step { (to_hear & (1 << m)) != 0 ->                                                                        \
              if :: module_in_setup[m] == 1 -> address[m] = offer; module_in_setup[m] = 0 :: else fi;             \
              REACHED(m); CHECK }                                                                                 \
  :: d_step { (to_hear & (1 << m)) != 0 && lost < LOSSES -> lost++; REACHED(m); CHECK }

active proctype site() {
  do
  PLATE(0)
#if PLATES > 1
  PLATE(1)
#endif
  MODULE(0)
#if MODULES > 1
  MODULE(1)
#endif
#if MODULES > 2
  MODULE(2)
#endif
#if MODULES > 3
  MODULE(3)
#endif
#if MODULES > 4
  MODULE(4)
#endif
  od
}
