/* The line to `drybus bridge` in lock-step: SLIP (RFC 1055), messages as tools/bridge/message.h has them. On a board the bytes
 * come from its UART; it needs some 400 bytes of RAM. C99, no library. */
#ifndef LINK_H
#define LINK_H

#include <stdint.h>

/* A byte that came. */
void link_byte(uint8_t byte);
/* Bytes to go; the board's. */
void board_write(const uint8_t* bytes, uint16_t count);

#endif
