#include "tools/options/help.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <array>
#include <memory>
#include <set>
#include <sstream>
#include <utility>

#include "model/words/words.h"

namespace drybus::tools {

namespace po = boost::program_options;
using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

/// How the value of an option is shown, which another option holds.
class ShownValue final : public po::value_semantic {
 public:
  explicit ShownValue(const po::value_semantic& held) : held_(held) {}

  [[nodiscard]] std::string name() const override { return held_.name(); }
  [[nodiscard]] unsigned min_tokens() const override { return held_.min_tokens(); }
  [[nodiscard]] unsigned max_tokens() const override { return held_.max_tokens(); }
  [[nodiscard]] bool is_composing() const override { return held_.is_composing(); }
  [[nodiscard]] bool is_required() const override { return held_.is_required(); }
  void parse(boost::any& /*value*/, const std::vector<std::string>& /*tokens*/,
             bool /*utf8*/) const override {}
  bool apply_default(boost::any& /*value*/) const override { return false; }
  void notify(const boost::any& /*value*/) const override {}

 private:
  const po::value_semantic& held_;
};

/// Templates of the library's, for what can be wrong with options such as ours.
constexpr std::array templates = {
    msg("the required argument for option '%canonical_option%' is missing"),
    msg("the argument for option '%canonical_option%' should follow immediately after the equal sign"),
    msg("option '%canonical_option%' does not take any arguments"),
    msg("the abbreviated option '%canonical_option%' does not take any arguments"),
    msg("the unabbreviated option '%canonical_option%' does not take any arguments"),
    msg("the unabbreviated option '%canonical_option%' is not valid"),
    msg("option '%canonical_option%' is not valid"),
    msg("option '%canonical_option%' cannot be specified more than once"),
    msg("option '%canonical_option%' only takes a single argument"),
    msg("option '%canonical_option%' requires at least one argument"),
};

/// "option '--fo' is ambiguous and matches '--for', '--form', and '--format'", as the library says it.
std::string complaint_of_ambiguous(const po::ambiguous_option& error) {
  const std::set<std::string> sorted{error.alternatives().begin(), error.alternatives().end()};
  if (sorted.size() < 2) return error.what();
  std::vector<std::string> others;
  for (const std::string& name : sorted) others.push_back(fmt::format("'--{}'", name));
  const std::string last = std::move(others.back());
  others.pop_back();
  return tr("option '{}' is ambiguous and matches {}, and {}", error.get_option_name(),
            fmt::format("{}", fmt::join(others, ", ")), last);
}

}  // namespace

char letter_of(const po::option_description& option) {
  // The library tells a short name as "-o", and the long one where there is none.
  const std::string name = option.canonical_display_name(po::command_line_style::allow_dash_for_short);
  return name.size() == 2 && name[0] == '-' ? name[1] : '\0';
}

std::string help_of(const po::options_description& options) {
  po::options_description shown{model::tr_as("heading of help", "options")};
  for (const auto& option : options.options()) {
    const char letter = letter_of(*option);
    const std::string names =
        letter == '\0' ? option->long_name() : fmt::format("{},{}", option->long_name(), letter);
    const std::string told{in_words_spoken(option->description())};
    auto value = std::make_unique<ShownValue>(*option->semantic());
    shown.add_options()(names.c_str(), value.release(), told.c_str());  // the description owns it
  }
  std::ostringstream text;
  text << shown;
  return text.str();
}

std::string usage_in_words_spoken(std::string_view usage) {
  static constexpr std::string_view options = msg("[options]");
  std::string text{in_words_spoken(usage)};
  if (const std::size_t at = text.find(options); at != std::string::npos)
    text.replace(at, options.size(), in_words_spoken(options));
  return text;
}

std::string complaint_of(const po::error& error) {
  if (const auto* ambiguous = dynamic_cast<const po::ambiguous_option*>(&error))
    return complaint_of_ambiguous(*ambiguous);
  const auto* named = dynamic_cast<const po::error_with_option_name*>(&error);
  if (named == nullptr) return error.what();
  po::error_with_option_name told = *named;
  for (const std::string_view known : templates) {
    if (told.m_error_template == known) told.m_error_template = in_words_spoken(known);
  }
  return told.what();
}

}  // namespace drybus::tools
