// Collects everything that is wrong while a file is read, so that people hear of all of it at once.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "model/people/script.h"
#include "tools/script/files.h"
#include "tools/script/problem.h"

namespace drybus::tools {

/// A stretch of one line of a source.
struct Place {
  model::SourceMark mark;
  std::uint32_t length = 1;  ///< characters
};

class Complaints {
 public:
  /// Nobody reads more than these.
  static constexpr std::size_t most = 100;

  /// Takes in a file; its index is what marks call `file`.
  std::uint32_t add_source(SourceFile source);
  [[nodiscard]] const std::vector<SourceFile>& sources() const { return sources_; }
  [[nodiscard]] std::vector<SourceFile> take_sources() { return std::move(sources_); }

  /// A line of a source (from 1), without its end; empty when there is none such.
  [[nodiscard]] std::string_view line(std::uint32_t file, std::uint32_t line) const;

  void add(const Place& place, std::string message, std::string expected = {}, std::string suggestion = {});
  /// About a file as a whole, which need not be among the sources.
  void add_about_file(std::string path, std::string message, std::string expected = {});

  [[nodiscard]] bool any() const { return !found_.empty(); }
  [[nodiscard]] std::size_t count() const { return found_.size() + beyond_; }

  /// All problems, by file, line and column.
  [[nodiscard]] std::vector<Problem> sorted() const;

 private:
  struct Found {
    model::SourceMark mark;
    Problem problem;
  };
  std::vector<SourceFile> sources_;
  std::vector<std::vector<std::uint32_t>> line_starts_;  ///< of each source: bytes from its start
  std::vector<Found> found_;
  std::size_t beyond_ = 0;
};

}  // namespace drybus::tools
