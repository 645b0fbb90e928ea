#include "tools/words/catalogue.h"

#include <boost/json.hpp>
#include <cstdint>
#include <stdexcept>

#include "tools/base/json_text.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {

constexpr char context_end = '\4';

/// Numbers of 32 bits and texts out of an .mo file.
class MoFile {
 public:
  explicit MoFile(std::string_view bytes) : bytes_(bytes) {
    constexpr std::uint32_t magic = 0x950412de;
    swapped_ = false;
    if (number(0) == magic) return;
    swapped_ = true;
    if (number(0) != magic) throw std::invalid_argument{"no catalogue of gettext's"};
  }

  [[nodiscard]] std::uint32_t number(std::size_t at) const {
    if (at > bytes_.size() || bytes_.size() - at < 4)
      throw std::invalid_argument{"a catalogue that ends too soon"};
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < 4; ++i) {
      const auto byte = static_cast<unsigned char>(bytes_[at + (swapped_ ? i : 3 - i)]);
      value = (value << 8) | byte;
    }
    return value;
  }

  /// The text that an entry of a table tells of: its length, and where it stands.
  [[nodiscard]] std::string_view text(std::size_t entry) const {
    const std::size_t length = number(entry);
    const std::size_t at = number(entry + 4);
    if (at > bytes_.size() || bytes_.size() - at < length)
      throw std::invalid_argument{"a catalogue that ends too soon"};
    return bytes_.substr(at, length);
  }

 private:
  std::string_view bytes_;
  bool swapped_ = false;
};

std::vector<std::string> parts_of(std::string_view text) {
  std::vector<std::string> parts;
  for (;;) {
    const std::size_t end = text.find('\0');
    parts.emplace_back(text.substr(0, end));
    if (end == std::string_view::npos) return parts;
    text.remove_prefix(end + 1);
  }
}

/// What a line of the header says, such as "Language: de".
std::string_view said_in(std::string_view header, std::string_view key) {
  const std::size_t at = header.find(key);
  if (at == std::string_view::npos) return {};
  const std::string_view rest = header.substr(at + key.size());
  return rest.substr(0, rest.find_first_of("\n;"));
}

}  // namespace

void Catalogue::take_header(std::string_view header) {
  language_ = said_in(header, "Language: ");
  const std::string_view formula = said_in(header, "plural=");
  if (!formula.empty()) rule_ = PluralRule{formula};
}

Catalogue Catalogue::from_mo(std::string_view bytes) {
  const MoFile file{bytes};
  Catalogue catalogue;
  const std::uint32_t count = file.number(8);
  const std::size_t written = file.number(12);
  const std::size_t told = file.number(16);
  for (std::size_t i = 0; i < count; ++i) {
    const std::string_view key = file.text(written + 8 * i);
    const std::string_view texts = file.text(told + 8 * i);
    if (key.empty()) {
      catalogue.take_header(texts);
    } else {
      catalogue.texts_[parts_of(key).front()] = parts_of(texts);
    }
  }
  return catalogue;
}

Catalogue Catalogue::from_page(std::string_view text) {
  const json::value told = json::parse(json::string_view{text.data(), text.size()});
  Catalogue catalogue;
  catalogue.language_ = told.at("language").as_string().c_str();
  catalogue.rule_ = PluralRule{told.at("plural").as_string().c_str()};
  for (const auto& [key, value] : told.at("texts").as_object()) {
    std::vector<std::string>& forms = catalogue.texts_[std::string{key.data(), key.size()}];
    if (value.is_string()) forms.emplace_back(value.as_string().c_str());
    if (!value.is_array()) continue;
    for (const json::value& form : value.as_array()) forms.emplace_back(form.as_string().c_str());
  }
  return catalogue;
}

std::string_view Catalogue::text(std::string_view context, std::string_view written) const {
  const auto found = context.empty() ? texts_.find(written)
                                     : texts_.find(std::string{context} + context_end + std::string{written});
  return found == texts_.end() || found->second.empty() ? written : std::string_view{found->second.front()};
}

std::string_view Catalogue::plural(std::string_view one, std::string_view several,
                                   std::uint64_t count) const {
  const auto found = texts_.find(one);
  const std::uint64_t form = rule_.form(count);
  if (found == texts_.end() || form >= found->second.size()) return count == 1 ? one : several;
  return found->second[form];
}

std::string Catalogue::page_json() const {
  json::object texts;
  for (const auto& [key, forms] : texts_) {
    if (forms.size() == 1) {
      texts[key] = forms.front();
    } else {
      texts[key] = json::array(forms.begin(), forms.end());
    }
  }
  return json_text(
      json::object{{"language", language_}, {"plural", rule_.formula()}, {"texts", std::move(texts)}});
}

}  // namespace drybus::tools
