// Which files the program reads and which it is to write, so that nothing is written over what was read, and no two
// outputs meet in one file. Files are told apart by what they are: another spelling, a link or a second name is the
// same file.
//
// Everybody who takes in a file's content calls note_read (the file reader does); every option that names an output
// claims it (CommandLine::offer_output does), and writing asks (write_files does). A command has to do nothing.
#pragma once

#include <filesystem>
#include <span>
#include <string>

namespace drybus::tools {

/// `option`, such as "--route", is to write `path`. Throws Unusable where that cannot be written, another option
/// writes the same file, or it was read already. A claim lasts as long as the process, and holds in its children.
void claim_output(const std::string& option, const std::filesystem::path& path);

/// The content of this file is used. Throws Unusable when an option has claimed it; whoever catches that does not save
/// the file from this: nothing is written any more.
void note_read(const std::filesystem::path& path);

/// From now on this claimed file may be read too, as what it holds is to be brought up to date. Said again after it was
/// written, for that makes it another file.
void allow_update(const std::filesystem::path& path);

/// Throws Unusable when one of these files was read, when two are the same, or when a claimed file was read.
void check_outputs(std::span<const std::filesystem::path> paths);

}  // namespace drybus::tools
