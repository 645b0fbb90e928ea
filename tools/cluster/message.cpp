#include "tools/cluster/message.h"

#include <algorithm>
#include <cstring>

namespace drybus::tools {

namespace {

struct Head {
  std::uint32_t said;
  std::uint32_t stage;
  std::uint64_t number;
  std::uint64_t offset;
  std::uint64_t total;
};

}  // namespace

std::string to_bytes(const Message& message) {
  const Head head{static_cast<std::uint32_t>(message.said), message.stage, message.number, message.offset,
                  message.total};
  std::string bytes(sizeof head, '\0');
  std::memcpy(bytes.data(), &head, sizeof head);
  return bytes + message.text;
}

std::optional<Message> message_from(std::string_view bytes) {
  Head head{};
  if (bytes.size() < sizeof head) return std::nullopt;
  std::memcpy(&head, bytes.data(), sizeof head);
  if (head.said > static_cast<std::uint32_t>(Said::part)) return std::nullopt;
  return Message{static_cast<Said>(head.said),          head.stage, head.number, head.offset, head.total,
                 std::string{bytes.substr(sizeof head)}};
}

std::vector<Message> in_parts(const Message& message, std::string_view text) {
  std::vector<Message> parts;
  std::size_t from = 0;
  do {
    Message part = message;
    part.offset = from;
    part.total = text.size();
    part.text = text.substr(from, most_text);
    from += part.text.size();
    parts.push_back(std::move(part));
  } while (from < text.size());
  return parts;
}

std::optional<std::string> Assembly::add(const Message& part) {
  std::string& text = begun_[part.number];
  if (part.offset == 0) text.clear();
  if (part.offset != text.size())
    return std::nullopt;  // of an answer that was begun before this rank was given up
  text += part.text;
  if (text.size() < part.total) return std::nullopt;
  std::string whole = std::move(text);
  begun_.erase(part.number);
  return whole;
}

}  // namespace drybus::tools
