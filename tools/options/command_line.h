// Reading a command's options (Boost.Program_options), with errors for people.
#pragma once

#include <boost/program_options.hpp>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/words/words.h"
#include "sim/time.h"
#include "tools/base/unusable.h"
#include "tools/options/description.h"

namespace drybus::tools {

using Arguments = std::span<const std::string>;

/// The options of one command. Throws Unusable for anything that does not fit. Every command has --help, --language and limits.
/// From parse on, and as long as this lives, the command speaks the language of --language, and English where programs read it.
class CommandLine {
 public:
  /// `usage` is what help shows, e.g. "drybus run SCENARIO [options]"; in English (marked by msg), as are all helps below.
  explicit CommandLine(std::string_view usage);

  /// For adding options in the usual way of the library. Their help is told in other words when it is shown: mark it by msg.
  boost::program_options::options_description_easy_init add() { return options_.add_options(); }

  /// Names the words that are no options; `at_most` 0 means any number.
  void take_words(std::string_view what, std::size_t at_least, std::size_t at_most);

  /// False when help was asked for and printed. Throws Described (description.h) when that was asked for.
  bool parse(Arguments arguments);

  /// Adds an option that names a file to be written, such as "output,o", with its help and what it is unless said.
  /// parse claims the file (file_claims.h): it throws Unusable for a place that cannot be written, and from then on
  /// nothing that the command reads is written over.
  void offer_output(const char* names, const char* help, std::optional<std::string> usual = {});

  /// Adds --format, text or json, for a command whose output programs read, too.
  void offer_json();
  /// REQUIRES: offer_json was called before parse.
  [[nodiscard]] bool json_wanted() const;

  [[nodiscard]] bool has(const std::string& option) const { return values_.count(option) != 0; }
  [[nodiscard]] std::string text(const std::string& option) const {
    return values_[option].as<std::string>();
  }
  [[nodiscard]] std::optional<std::string> optional_text(const std::string& option) const;
  /// Every value of an option that may be given several times.
  [[nodiscard]] std::vector<std::string> texts(const std::string& option) const;
  [[nodiscard]] std::uint64_t number(const std::string& option) const;
  /// Throws Unusable for a number that is not `least` to `most`; `unit` is for the message.
  [[nodiscard]] std::uint64_t number(const std::string& option, std::uint64_t least, std::uint64_t most,
                                     std::string_view unit = "") const;
  /// A time with its unit, such as "90s" or "2 h".
  [[nodiscard]] sim::Duration duration(const std::string& option) const;

  /// A size with its unit, such as "500MB": kB, MB or GB, of 1024 each.
  [[nodiscard]] std::uint64_t bytes(const std::string& option) const;

  /// Adds --from and --to, times on the clock of a run, with their helps.
  void offer_span(std::string_view from_help, std::string_view to_help);
  /// Those of the two that were given. Throws Unusable when they are the wrong way round.
  void read_span(sim::Instant& from, sim::Instant& to) const;

  [[nodiscard]] const std::vector<std::string>& words() const { return words_; }

 private:
  [[noreturn]] void refuse_unknown(const std::string& option) const;
  [[nodiscard]] CommandDescription description() const;
  [[nodiscard]] std::string help() const;
  [[nodiscard]] std::string spoken_usage() const;
  void offer_what_all_have();
  void understand(Arguments arguments);
  void speak();
  void set_limits() const;

  std::unique_ptr<model::Speaking> speaking_;
  std::string usage_;
  boost::program_options::options_description options_{"options"};
  boost::program_options::variables_map values_;
  std::vector<std::string> outputs_;  ///< options that name files to be written
  std::string what_words_;
  std::size_t at_least_ = 0;
  std::size_t at_most_ = 0;
  std::vector<std::string> words_;
};

}  // namespace drybus::tools
