/* A dimmer module as it is on a small microcontroller: static variables, one loop that is polled every 10 ms, no operating
 * system, no heap, no library. C99. */
#ifndef DIMMER_H
#define DIMMER_H

#include <stdint.h>

#define DIMMER_TICK_MS 10u

/* What the board around it calls. */
void dimmer_power_on(void);
void dimmer_contact(uint8_t closed);
void dimmer_frame(const uint8_t frame[7]); /* kind, site, zone, channel, argument, CRC high, CRC low */
void dimmer_tick(void);

/* What it needs of the board. */
void board_show(uint8_t pattern);                   /* as DRYBUS_DARK ... of drybus/firmware.h */
void board_level(uint16_t level, uint32_t fade_ms); /* 0 to 1000 */
void board_tell_mode(uint8_t in_setup, uint8_t because);
void board_stored(uint8_t site, uint8_t zone, uint8_t channel);

#endif
