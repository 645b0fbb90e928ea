#include "tools/panel/spoken_loss.h"

#include <algorithm>
#include <array>

#include "model/words/words.h"
#include "tools/timeline/timeline.h"

namespace drybus::tools {

std::string spoken_loss(sim::Loss loss) {
  static constexpr std::array known{model::msg("collision"), model::msg("noise"), model::msg("no way"),
                                    model::msg("no power"), model::msg("cut short")};
  const std::string_view text = short_text(loss);
  return std::find(known.begin(), known.end(), text) == known.end()
             ? std::string{text}
             : std::string{model::in_words_spoken(text)};
}

}  // namespace drybus::tools
