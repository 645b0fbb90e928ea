// Texts that are told to somebody and kept in a file besides: files have them as they are written, whatever is spoken.
#pragma once

#include <string>

#include "model/words/words.h"

namespace drybus::model {

struct Wording {
  std::string written;  ///< as files have it, and as it is compared
  std::string told;     ///< in the words that were spoken when it was made
};

/// `make` puts the text together, once in the words spoken and once as it is written. What it takes of other wordings it asks for
/// by the function that it is given: worded([&](const auto& in) { return tr("{}: is it so?", in(action)); }).
template <class Make>
[[nodiscard]] Wording worded(const Make& make) {
  Wording text;
  text.told = make([](const Wording& part) -> const std::string& { return part.told; });
  if (words_spoken() == nullptr) {
    text.written = text.told;
    return text;
  }
  const Speaking as_written{nullptr};
  text.written = make([](const Wording& part) -> const std::string& { return part.written; });
  return text;
}

}  // namespace drybus::model
