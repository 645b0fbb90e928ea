// A shared library with firmware in it: loaded, looked at, and ready to be put in place of the reference
// model.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "model/firmware/logic.h"
#include "tools/seat/instruments.h"
#include "tools/seat/loaded_image.h"

namespace drybus::tools {

/// Of model/firmware.h: "1.1".
std::string interface_version();

class FirmwareLibrary {
 public:
  /// Loads a library and checks it: its symbol, the version, sizes and handlers of its firmware. Throws
  /// Unusable with all that is wrong with it.
  explicit FirmwareLibrary(std::string path);

  [[nodiscard]] const std::string& path() const { return path_; }

  /// Its firmware for plates (modules), if it has one.
  [[nodiscard]] const std::optional<model::FirmwareSeat>& seat(bool plate) const {
    return plate ? plate_ : module_;
  }

  /// Whether it keeps its state in variables of its own.
  [[nodiscard]] bool has_own_variables() const;

  /// From now on none of its handlers may allocate: its worlds are to be put back, and what it allocates is in none.
  void refuse_heap();

 private:
  using Describe = const drybus_firmware* (*)(std::uint32_t, std::uint32_t);

  [[nodiscard]] void* open() const;
  [[nodiscard]] Describe find_describe(void* handle) const;
  [[nodiscard]] std::optional<model::FirmwareSeat> take(Describe describe, bool plate);
  void check(const drybus_firmware& firmware, bool plate) const;
  void check_name(const drybus_firmware& firmware) const;
  void check_sizes(const drybus_firmware& firmware) const;
  void check_variables(const drybus_firmware& firmware, std::size_t size) const;
  void check_poll(const drybus_firmware& firmware) const;
  void check_handlers(const drybus_firmware& firmware) const;
  void close_in();
  [[noreturn]] void refuse(const std::string& why) const;

  std::string path_;
  std::shared_ptr<LoadedImage> image_;  ///< shared with the seats: open for as long as any of them is in use
  Instruments instruments_;
  std::optional<model::FirmwareSeat> plate_;
  std::optional<model::FirmwareSeat> module_;
};

}  // namespace drybus::tools
