// What ranks say to one another, as bytes that one machine's program sends to another's: all of one kind of machine.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

enum class Said : std::uint32_t {
  here,    ///< to the manager, every half second: the rank is at this stage; `text` is its program's build
  heard,   ///< from the manager, in answer
  piece,   ///< from the manager: do this piece
  answer,  ///< to the manager: a part of what came of it
  failed,  ///< to the manager: why that piece cannot be done, or (`whole_job`) the rank cannot take part
  next,    ///< from the manager: this stage is over
  over,    ///< from the manager: the job is over
  bye,     ///< to the manager, in answer
  part,    ///< from the manager, at last: everybody says good-bye, or (`number` is not 0) somebody is missing
};

/// In place of a piece's number.
inline constexpr std::uint64_t whole_job = ~std::uint64_t{0};

struct Message {
  Said said = Said::here;
  std::uint32_t stage = 0;   ///< which of the command's piles of pieces
  std::uint64_t number = 0;  ///< of the piece
  std::uint64_t offset = 0;  ///< where this part of the answer begins,
  std::uint64_t total = 0;   ///< and how long the whole is
  std::string text = {};
};

/// The most that one message carries: with its head less than what every transport of Open MPI takes without the other end
/// being asked, so that nobody ever waits in the middle of a message for a rank that is gone.
inline constexpr std::size_t most_text = 3'000;

std::string to_bytes(const Message& message);
/// Nothing for what is no message.
std::optional<Message> message_from(std::string_view bytes);

/// The messages that carry a text of any length. At least one.
std::vector<Message> in_parts(const Message& message, std::string_view text);

/// Puts the parts of one rank's answers together again.
class Assembly {
 public:
  /// The whole, once this was its last part. Parts come in order, as from one rank they do.
  std::optional<std::string> add(const Message& part);

 private:
  std::map<std::uint64_t, std::string> begun_;  ///< by piece
};

}  // namespace drybus::tools
