// What a file is by its own word: each kind of ours begins with a key of its own.
#pragma once

#include <initializer_list>
#include <string>

namespace drybus::tools {

enum class FileKind : unsigned char { scenario, capsule, report, site, family, lesson };

/// By the file's own word; false for what cannot be read.
bool is_of_kind(const std::string& path, FileKind kind);

/// Throws Unusable with what the file is and which commands take it, when it is of another of our kinds than those wanted; says
/// nothing about files that are of none, or cannot be read.
void refuse_other_kinds(const std::string& path, std::initializer_list<FileKind> wanted);

}  // namespace drybus::tools
