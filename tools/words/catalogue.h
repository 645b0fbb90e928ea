// The texts of one language, as gettext's msgfmt compiles them or as a page carries them.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "model/words/words.h"
#include "tools/words/plural_rule.h"

namespace drybus::tools {

class Catalogue final : public model::Words {
 public:
  /// From the bytes of an .mo file (GNU gettext, "The Format of GNU MO Files"), of either byte order. Throws std::invalid_argument
  /// where they are none.
  static Catalogue from_mo(std::string_view bytes);
  /// From page_json's text. Throws std::exception where it is none.
  static Catalogue from_page(std::string_view json);

  [[nodiscard]] std::string_view text(std::string_view context, std::string_view written) const override;
  [[nodiscard]] std::string_view plural(std::string_view one, std::string_view several,
                                        std::uint64_t count) const override;

  /// "de"
  [[nodiscard]] const std::string& language() const { return language_; }
  [[nodiscard]] std::size_t size() const { return texts_.size(); }
  /// {language, plural, texts}, as tools/panel/page/words.js takes it.
  [[nodiscard]] std::string page_json() const;

 private:
  Catalogue() = default;
  void take_header(std::string_view header);

  std::string language_;
  PluralRule rule_{"n != 1"};
  std::map<std::string, std::vector<std::string>, std::less<>> texts_;  ///< "context\4written", or "written"
};

}  // namespace drybus::tools
