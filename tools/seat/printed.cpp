#include "tools/seat/printed.h"

#include <cxxabi.h>

#include <array>
#include <cstdarg>
#include <cstdio>
#include <cstring>
#include <iostream>
#include <span>
#include <streambuf>
#include <typeinfo>

#include "tools/seat/forbidden.h"
#include "tools/seat/way_back.h"

namespace drybus::tools {

namespace {

/// The line that is being printed. No memory is asked for: a handler may be left in the middle of it.
struct Line {
  drybus_device* device = nullptr;
  std::size_t size = 0;
  std::array<char, DRYBUS_LONGEST_LOG + 1> text{};
};
thread_local constinit Line line{};

void end_line() {
  line.text[line.size] = '\0';
  line.size = 0;
  if (line.device != nullptr) model::log_line(*line.device, line.text.data());
}

void print(const char* text, std::size_t size) {
  for (const char c : std::span{text, size}) {
    if (c == '\n') {
      end_line();
    } else if (line.size < line.text.size() - 1 && c != '\r') {
      line.text[line.size++] = c;
    }
  }
}

int print_formatted(const char* format, std::va_list arguments) {
  std::array<char, DRYBUS_LONGEST_LOG + 1> text;
  const int size = std::vsnprintf(text.data(), text.size(), format, arguments);
  print(text.data(), std::strlen(text.data()));
  return size;
}

// --- as the C library has them ---

int on_printf(const char* format, ...) {
  std::va_list arguments;
  va_start(arguments, format);
  const int size = print_formatted(format, arguments);
  va_end(arguments);
  return size;
}
int on_printf_chk(int, const char* format, ...) {
  std::va_list arguments;
  va_start(arguments, format);
  const int size = print_formatted(format, arguments);
  va_end(arguments);
  return size;
}
int on_fprintf(std::FILE*, const char* format, ...) {
  std::va_list arguments;
  va_start(arguments, format);
  const int size = print_formatted(format, arguments);
  va_end(arguments);
  return size;
}
int on_fprintf_chk(std::FILE*, int, const char* format, ...) {
  std::va_list arguments;
  va_start(arguments, format);
  const int size = print_formatted(format, arguments);
  va_end(arguments);
  return size;
}
int on_vprintf(const char* format, std::va_list arguments) {
  return print_formatted(format, arguments);
}
int on_vprintf_chk(int, const char* format, std::va_list arguments) {
  return print_formatted(format, arguments);
}
int on_vfprintf(std::FILE*, const char* format, std::va_list arguments) {
  return print_formatted(format, arguments);
}
int on_vfprintf_chk(std::FILE*, int, const char* format, std::va_list arguments) {
  return print_formatted(format, arguments);
}
int on_puts(const char* text) {
  print(text, std::strlen(text));
  end_line();
  return 0;
}
int on_fputs(const char* text, std::FILE*) {
  print(text, std::strlen(text));
  return 0;
}
int on_putchar(int c) {
  const char text = static_cast<char>(c);
  print(&text, 1);
  return c;
}
int on_fputc(int c, std::FILE*) {
  return on_putchar(c);
}
std::size_t on_fwrite(const void* data, std::size_t size, std::size_t count, std::FILE*) {
  print(static_cast<const char*>(data), size * count);
  return count;
}
long on_write(int, const void* data, std::size_t size) {
  print(static_cast<const char*>(data), size);
  return static_cast<long>(size);
}
int on_fflush(std::FILE*) {
  return 0;
}
int on_setvbuf(std::FILE*, char*, int, std::size_t) {
  return 0;
}
void on_setbuf(std::FILE*, char*) {}

/// Where an exception comes from is lost once it has been caught.
[[noreturn]] void on_throw(void* thrown, std::type_info* type, void (*destroy)(void*)) {
  note_place(__builtin_return_address(0));
  abi::__cxa_throw(thrown, type, destroy);
}

/// Of std::cout and the like: what firmware prints is taken, everything else goes where it went.
class TakenOver final : public std::streambuf {
 public:
  explicit TakenOver(std::ostream& stream) : stream_(stream), before_(stream.rdbuf(this)) {}
  ~TakenOver() override { stream_.rdbuf(before_); }
  TakenOver(const TakenOver&) = delete;
  TakenOver& operator=(const TakenOver&) = delete;

 protected:
  int_type overflow(int_type c) override {
    if (way.active == 0) return before_->sputc(traits_type::to_char_type(c));
    const char text = traits_type::to_char_type(c);
    print(&text, 1);
    return c;
  }
  std::streamsize xsputn(const char* text, std::streamsize size) override {
    if (way.active == 0) return before_->sputn(text, size);
    print(text, static_cast<std::size_t>(size));
    return size;
  }
  int sync() override { return way.active == 0 ? before_->pubsync() : 0; }

 private:
  std::ostream& stream_;
  std::streambuf* before_;
};

template <class Function>
LoadedImage::Replacement replacement(std::string_view name, Function* function) {
  return {name, reinterpret_cast<void (*)()>(function)};
}

}  // namespace

void printing_for(drybus_device* device) {
  line.device = device;
  line.size = 0;
}

void end_printed_line() {
  if (line.size != 0) end_line();
}

void take_over_streams() {
  static const TakenOver out{std::cout};
  static const TakenOver err{std::cerr};
  static const TakenOver log{std::clog};
}

std::span<const LoadedImage::Replacement> print_calls() {
  static const std::array all = {
      replacement("printf", on_printf),     replacement("__printf_chk", on_printf_chk),
      replacement("fprintf", on_fprintf),   replacement("__fprintf_chk", on_fprintf_chk),
      replacement("vprintf", on_vprintf),   replacement("__vprintf_chk", on_vprintf_chk),
      replacement("vfprintf", on_vfprintf), replacement("__vfprintf_chk", on_vfprintf_chk),
      replacement("puts", on_puts),         replacement("fputs", on_fputs),
      replacement("putchar", on_putchar),   replacement("putc", on_fputc),
      replacement("fputc", on_fputc),       replacement("fwrite", on_fwrite),
      replacement("write", on_write),       replacement("fflush", on_fflush),
      replacement("setvbuf", on_setvbuf),   replacement("setbuf", on_setbuf),
      replacement("__cxa_throw", on_throw),
  };
  return all;
}

}  // namespace drybus::tools
