#include "model/words/words.h"

#include <utility>

namespace drybus::model {

namespace {

const Words*& spoken() {
  thread_local const Words* by_this_thread = nullptr;
  return by_this_thread;
}

}  // namespace

Speaking::Speaking(const Words* words) : before_(std::exchange(spoken(), words)) {}

Speaking::~Speaking() {
  spoken() = before_;
}

bool speaks_as_written() {
  return spoken() == nullptr;
}

std::string_view in_words_spoken(std::string_view written, std::string_view context) {
  return spoken() == nullptr ? written : spoken()->text(context, written);
}

std::string_view form_spoken(std::string_view one, std::string_view several, std::uint64_t count) {
  if (spoken() == nullptr) return count == 1 ? one : several;
  return spoken()->plural(one, several, count);
}

std::string with_decimal_mark(std::string number) {
  const std::size_t at = number.find('.');
  if (at != std::string::npos)
    number.replace(at, 1, in_words_spoken(msg_as("decimal mark", "."), "decimal mark"));
  return number;
}

}  // namespace drybus::model
