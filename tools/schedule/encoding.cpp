#include "tools/schedule/encoding.h"

#include <iconv.h>

#include <algorithm>
#include <array>
#include <memory>
#include <stdexcept>

#include "model/words/words.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::tr;

namespace {

struct CloseConverter {
  void operator()(void* converter) const { iconv_close(converter); }
};

std::string converted(std::string_view bytes, const char* from) {
  const std::unique_ptr<void, CloseConverter> converter{iconv_open("UTF-8", from)};
  // NOLINTNEXTLINE(performance-no-int-to-ptr): that is how iconv says that it does not know an encoding.
  if (converter.get() == reinterpret_cast<void*>(-1))
    throw std::runtime_error{tr("this system cannot read {}", from)};
  std::string text;
  std::string rest{bytes};
  char* in = rest.data();
  std::size_t left = rest.size();
  std::array<char, 4096> buffer{};
  while (left > 0) {
    char* out = buffer.data();
    std::size_t room = buffer.size();
    const std::size_t outcome = iconv(converter.get(), &in, &left, &out, &room);
    text.append(buffer.data(), buffer.size() - room);
    if (outcome == static_cast<std::size_t>(-1) && room == buffer.size())
      throw std::runtime_error{tr("byte {} is not {}; save it as UTF-8", rest.size() - left + 1, from)};
  }
  return text;
}

/// UTF-16 without its mark: most of what a schedule holds has zero for its upper byte.
bool mostly_zero(std::string_view bytes, std::size_t first) {
  std::size_t zeros = 0;
  for (std::size_t i = first; i < bytes.size(); i += 2) zeros += bytes[i] == '\0' ? 1u : 0u;
  return bytes.size() >= 4 && 2 * zeros > bytes.size() / 2;
}

bool is_utf8(std::string_view bytes) {
  return as_utf8(bytes) == bytes;
}

}  // namespace

Decoded decoded(std::string_view bytes) {
  if (bytes.starts_with("\xEF\xBB\xBF")) {
    if (!is_utf8(bytes)) throw std::runtime_error{tr("it says that it is UTF-8 and is not; save it anew")};
    return {std::string{bytes.substr(3)}, "UTF-8"};
  }
  if (bytes.starts_with("\xFF\xFE")) return {converted(bytes.substr(2), "UTF-16LE"), "UTF-16"};
  if (bytes.starts_with("\xFE\xFF")) return {converted(bytes.substr(2), "UTF-16BE"), "UTF-16"};
  if (mostly_zero(bytes, 1)) return {converted(bytes, "UTF-16LE"), "UTF-16"};
  if (mostly_zero(bytes, 0)) return {converted(bytes, "UTF-16BE"), "UTF-16"};
  if (bytes.find('\0') != std::string_view::npos) throw std::runtime_error{tr("this is no text")};
  if (is_utf8(bytes)) return {std::string{bytes}, "UTF-8"};
  return {converted(bytes, "WINDOWS-1252"), "Windows-1252 (Latin-1)"};
}

}  // namespace drybus::tools
