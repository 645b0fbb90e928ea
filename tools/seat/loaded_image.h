// What a shared library looks like in memory once it is loaded (ELF): where its variables lie, and which
// functions of others it calls.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

class LoadedImage {
 public:
  /// `handle` is dlopen's; it is closed when this is destroyed, not before.
  explicit LoadedImage(void* handle);
  /// Undoes what was done to it, and closes the library.
  ~LoadedImage();
  LoadedImage(const LoadedImage&) = delete;
  LoadedImage& operator=(const LoadedImage&) = delete;

  /// The library's static and global variables, whole pages. Empty when it has none.
  [[nodiscard]] std::span<std::byte> variables() const { return variables_; }

  /// All of it, from its first segment to the end of its last.
  [[nodiscard]] std::span<std::byte> whole() const { return whole_; }
  /// What its file's addresses begin at.
  [[nodiscard]] const void* base() const { return base_; }
  /// The path that it was loaded from.
  [[nodiscard]] const std::string& name() const { return name_; }

  /// Writing to a variable is an access violation from now on, until this is destroyed.
  void protect_variables();

  /// A function that the library calls by name, and what is called instead.
  struct Replacement {
    std::string_view name;
    void (*instead)();
  };
  void replace_calls(std::span<const Replacement> replacements);

  /// Whether it calls a function of others whose name begins so.
  [[nodiscard]] bool calls(std::string_view beginning) const;

  /// Whether an address lies in the library's code.
  [[nodiscard]] bool is_code(const void* address) const;

 private:
  struct Segment {
    std::byte* begin = nullptr;
    std::byte* end = nullptr;
  };
  struct Patched {
    void** slot = nullptr;
    void* original = nullptr;
  };
  struct Tables;

  void find_segments(const void* base, const std::string& name);
  void patch(void** slot, void* function);
  void write_slot(void** slot, void* function) const;

  void* handle_;
  std::string name_;
  const void* base_ = nullptr;
  const void* dynamic_ = nullptr;
  std::vector<Segment> code_;
  Segment relocated_;  ///< written while loading, read-only ever since
  std::span<std::byte> variables_;
  std::span<std::byte> whole_;
  bool protected_ = false;
  std::vector<Patched> patched_;
};

}  // namespace drybus::tools
