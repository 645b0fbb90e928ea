#include "model/record/said.h"

#include <algorithm>
#include <map>
#include <mutex>
#include <utility>

#include "model/words/words.h"
#include "sim/digest.h"

namespace drybus::model {

namespace {

constexpr std::size_t most_bytes = std::size_t{64} << 20;
/// Numbers that every reader of JSON takes as they are.
constexpr std::uint64_t readable = (std::uint64_t{1} << 53) - 1;

std::vector<std::string>& lines() {
  thread_local std::vector<std::string> of_this_thread;
  return of_this_thread;
}

/// Texts by what they are: which came first, and from which thread, makes no difference.
struct Texts {
  std::mutex mutex;
  std::map<std::uint64_t, std::string> by_number;
  std::size_t bytes = 0;
};
Texts& texts() {
  static Texts all;
  return all;
}

}  // namespace

void say(std::string_view line) {
  std::string text{line};
  std::replace_if(
      text.begin(), text.end(), [](char c) { return c < ' ' || c > '~'; }, '?');
  lines().push_back(std::move(text));
}

std::size_t lines_said() {
  return lines().size();
}

void take_back_said(std::size_t count) {
  lines().resize(std::min(count, lines().size()));
}

std::vector<std::string> take_said() {
  return std::exchange(lines(), {});
}

std::uint64_t keep_said(const std::string& text) {
  sim::Digest digest;
  digest.add(std::string_view{text});
  const std::uint64_t number = digest.value().low & readable;
  const std::lock_guard lock{texts().mutex};
  if (texts().bytes + text.size() <= most_bytes && texts().by_number.emplace(number, text).second)
    texts().bytes += text.size();
  return number;
}

std::string said_text(std::uint64_t number) {
  const std::lock_guard lock{texts().mutex};
  const auto known = texts().by_number.find(number);
  return known == texts().by_number.end() ? tr("a line that was not kept") : known->second;
}

}  // namespace drybus::model
