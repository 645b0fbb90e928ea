// Everything that help knows of the program, in one value; and what is made of it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "tools/options/description.h"

namespace drybus::tools {

/// A command line that shows what a command is for. Each is run by a test, in the source folder.
struct Example {
  std::string_view command;  ///< which command it belongs to: "sweep"
  std::string_view line;     ///< "drybus sweep scenarios/training/first-steps.yaml --runs 500"
  std::string_view shows;    ///< a sentence without its full stop
};

struct ManualCommand {
  std::string name;  ///< "sweep", "site new"
  std::string summary;
  CommandDescription description;
  std::vector<Example> examples;
};

struct Manual {
  std::string version;
  std::vector<ManualCommand> commands;  ///< in the order of help; parts of a command follow it
};

/// A file of the reference: its name, and what stands in it.
struct ReferenceFile {
  std::string name;
  std::string text;
};

/// The examples of a command.
std::vector<Example> examples_of(std::string_view command);

/// The lines of a usage, and what is said after them.
struct Usage {
  std::vector<std::string> lines;
  std::string about;
};
Usage usage_of(const CommandDescription& description);

/// drybus.1 and a page for each command (drybus-sweep.1), in mdoc(7).
std::vector<ReferenceFile> manual_pages(const Manual& manual);

/// For bash, zsh and fish, under the names by which each shell looks for them.
std::vector<ReferenceFile> completions(const Manual& manual);
std::string bash_completion(const Manual& manual);
std::string zsh_completion(const Manual& manual);
std::string fish_completion(const Manual& manual);

/// commands.md: every command with its options and examples.
std::vector<ReferenceFile> reference_pages(const Manual& manual);

}  // namespace drybus::tools
