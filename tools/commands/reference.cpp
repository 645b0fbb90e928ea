// drybus reference: manual pages, completions and the reference of commands, made from the program's own help.
#include <fmt/format.h>

#include <filesystem>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/handing_out.h"
#include "tools/reference/manual.h"

namespace drybus::tools {

namespace {

namespace fs = std::filesystem;
using model::msg;
using model::tr;

CommandDescription described(const Command& command, const std::string& part) {
  std::vector<std::string> words;
  if (!part.empty()) words.push_back(part);
  words.emplace_back(describe_argument);
  try {
    command.run(words);
  } catch (const Described& told) {
    return told.description();
  }
  throw std::logic_error{fmt::format("drybus {} does not tell what it takes", command.name)};
}

void add(Manual& manual, const Command& command, const std::string& part) {
  const std::string name =
      part.empty() ? std::string{command.name} : fmt::format("{} {}", command.name, part);
  manual.commands.push_back(
      {name, std::string{command.summary}, described(command, part), examples_of(name)});
}

Manual whole_manual() {
  Manual manual;
  manual.version = DRYBUS_VERSION;
  for (const Command& command : commands()) {
    add(manual, command, "");
    std::string_view parts = command.parts;
    while (!parts.empty()) {
      const std::size_t end = std::min(parts.find(' '), parts.size());
      add(manual, command, std::string{parts.substr(0, end)});
      parts.remove_prefix(std::min(end + 1, parts.size()));
    }
  }
  return manual;
}

std::vector<ReferenceFile> files_of(const std::string& kind) {
  if (kind == "man") return manual_pages(whole_manual());
  if (kind == "completions") return completions(whole_manual());
  if (kind == "pages") return reference_pages(whole_manual());
  const std::vector<std::string> known{"man", "completions", "pages"};
  throw Unusable{tr("'{}': expected man, completions or pages.{}", kind, did_you_mean(kind, known))};
}

}  // namespace

int reference_command(Arguments arguments) {
  CommandLine line{"drybus reference man|completions|pages FOLDER"};
  line.take_words(msg("a kind and a folder"), 2, 2);
  if (!line.parse(arguments)) return exit_fine;
  const model::Speaking english{nullptr};  // help as programs and manuals have it
  const std::vector<ReferenceFile> made = files_of(line.words()[0]);
  const fs::path folder = line.words()[1];
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) throw Unusable{tr("{}: cannot be made: {}", folder.string(), error.message())};
  std::vector<OutputFile> files;
  files.reserve(made.size());
  for (const ReferenceFile& file : made) files.push_back({folder / file.name, file.text});
  write_files(files);
  return exit_fine;
}

}  // namespace drybus::tools
