# cmake -DFOLDER=... -DOUT=... [-DHEADER=... -DFUNCTION=... [-DTYPE=...]] -P embed.cmake
# Turns every file of a folder into bytes of a C++ source, so that the program carries its page with it.
if(NOT DEFINED FUNCTION)
  set(HEADER tools/panel/page_files.h)
  set(FUNCTION page_files)
endif()
if(NOT DEFINED TYPE)
  set(TYPE PageFile)
endif()
file(GLOB files "${FOLDER}/*")
list(SORT files)

set(arrays "")
set(entries "")
set(number 0)
foreach(file IN LISTS files)
  get_filename_component(name "${file}" NAME)
  file(READ "${file}" hex HEX)
  string(LENGTH "${hex}" digits)
  math(EXPR size "${digits} / 2")
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
  string(APPEND arrays "constexpr unsigned char file_${number}[] = {${bytes}0};\n")
  string(APPEND entries "    ${TYPE}{\"${name}\", bytes(file_${number}, ${size})},\n")
  math(EXPR number "${number} + 1")
endforeach()

file(WRITE "${OUT}.new" "// Made by tools/panel/embed.cmake.
#include \"${HEADER}\"

namespace drybus::tools {

namespace {

${arrays}
[[maybe_unused]] std::string_view bytes(const unsigned char* first, std::size_t size) {
  return {reinterpret_cast<const char*>(first), size};
}

}  // namespace

std::span<const ${TYPE}> ${FUNCTION}() {
  static const std::array<${TYPE}, ${number}> all = {
${entries}  };
  return all;
}

}  // namespace drybus::tools
")
file(RENAME "${OUT}.new" "${OUT}")
