/* The board, when it is this computer: its UART is a socket or a serial port whose path is given. */
#define _POSIX_C_SOURCE 200809L
#include <fcntl.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <termios.h>
#include <unistd.h>

#include "link.h"

static int line = -1;
static uint8_t out[1024];
static size_t out_count;

static void flush_out(void) {
  size_t done = 0;
  while (done < out_count) {
    const ssize_t written = write(line, out + done, out_count - done);
    if (written <= 0) break;
    done += (size_t)written;
  }
  out_count = 0;
}

void board_write(const uint8_t* bytes, uint16_t count) {
  if (out_count + count > sizeof out) flush_out();
  memcpy(out + out_count, bytes, count);
  out_count += count;
}

static int open_line(const char* path) {
  struct stat found;
  struct sockaddr_un address;
  struct termios raw;
  int file;
  if (stat(path, &found) != 0) return -1;
  if (S_ISSOCK(found.st_mode)) {
    memset(&address, 0, sizeof address);
    address.sun_family = AF_UNIX;
    strncpy(address.sun_path, path, sizeof address.sun_path - 1);
    file = socket(AF_UNIX, SOCK_STREAM, 0);
    return connect(file, (const struct sockaddr*)&address, sizeof address) == 0 ? file : -1;
  }
  file = open(path, O_RDWR | O_NOCTTY);
  if (file >= 0 && tcgetattr(file, &raw) == 0) {
    raw.c_iflag = raw.c_oflag = raw.c_lflag = 0;
    raw.c_cc[VMIN] = 1;
    raw.c_cc[VTIME] = 0;
    tcsetattr(file, TCSANOW, &raw);
  }
  return file;
}

int main(int argc, char** argv) {
  uint8_t in[256];
  ssize_t count;
  ssize_t i;
  line = argc == 2 ? open_line(argv[1]) : -1;
  if (line < 0) return 1;
  while ((count = read(line, in, sizeof in)) > 0) {
    for (i = 0; i < count; ++i) link_byte(in[i]);
    flush_out();
  }
  return 0;
}
