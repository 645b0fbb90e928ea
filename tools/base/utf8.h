// The characters of a text: what may stand in a file, and columns that people can count.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace drybus::tools {

struct BadCharacter {
  std::size_t offset = 0;  ///< bytes from the start
  std::string what;        ///< "a NUL byte", "not UTF-8"
};

/// The first byte that cannot stand in a file of ours: not UTF-8; a control character other than tab and line end; a
/// mark that turns the direction of what follows it, beyond its own text; a separator of lines or paragraphs; a code
/// that no character has. Whatever passes here can be printed, written and read back.
std::optional<BadCharacter> first_bad_character(std::string_view text);

/// How many characters (code points) there are; bytes that are not UTF-8 count one each.
std::size_t character_count(std::string_view text);

/// The bytes from character `first` (from 0) on, at most `count` characters.
std::string_view characters(std::string_view text, std::size_t first, std::size_t count);

/// With everything that first_bad_character would find, and every line end, replaced by a question mark.
std::string harmless(std::string_view text);

/// The same for text of several lines on its way to a terminal: line feeds stay, and a tab becomes a blank.
std::string printable(std::string_view text);

/// With every byte that is not UTF-8 replaced by a question mark, and nothing else.
std::string as_utf8(std::string_view text);

}  // namespace drybus::tools
