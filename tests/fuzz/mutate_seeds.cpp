// Drives a fuzzer's entry without a fuzzing engine: every seed as it is, then altered at random, the same way
// each time. A short bounded run for every build; finding new ways is the engine's work (tools/fuzz).
//
//   try_NAME COUNT SEED-FILE-OR-FOLDER...     COUNT alterations of each seed
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "sim/random.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

namespace fs = std::filesystem;
using drybus::sim::Stream;

constexpr std::uintmax_t largest_seed = 20'000;

void feed(const std::string& bytes) {
  LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
}

std::string content(const fs::path& path) {
  std::ifstream in{path, std::ios::binary};
  return {std::istreambuf_iterator<char>{in}, {}};
}

std::vector<fs::path> files_below(const fs::path& path) {
  std::vector<fs::path> files;
  if (!fs::is_directory(path)) return {path};
  for (const auto& entry : fs::recursive_directory_iterator{path}) {
    if (entry.is_regular_file() && entry.file_size() <= largest_seed) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

/// One byte changed, a stretch dropped, doubled or taken from another seed, or a number put in the place of
/// another.
void alter(std::string& bytes, const std::string& other, Stream& draws) {
  if (bytes.empty()) bytes = other;
  if (bytes.empty()) return;
  const auto place = static_cast<std::size_t>(draws.below(bytes.size()));
  const auto length =
      static_cast<std::size_t>(1 + draws.below(std::min<std::size_t>(bytes.size() - place, 60)));
  switch (draws.below(5)) {
    case 0:
      bytes[place] = static_cast<char>(draws.below(256));
      break;
    case 1:
      bytes.erase(place, length);
      break;
    case 2:
      bytes.insert(place, bytes.substr(place, length));
      break;
    case 3:
      if (!other.empty()) bytes.replace(place, length, other.substr(draws.below(other.size()), length));
      break;
    default: {
      const std::size_t digit = bytes.find_first_of("0123456789", place);
      if (digit != std::string::npos)
        bytes.replace(digit, 1, fmt::format("{}", draws.next() >> draws.below(64)));
    }
  }
}

}  // namespace

int main(int count, char** words) {
  unsigned long alterations = 0;
  const std::string wanted = count > 1 ? words[1] : "";
  std::from_chars(wanted.data(), wanted.data() + wanted.size(), alterations);
  std::vector<std::string> seeds;
  for (int i = 2; i < count; ++i) {
    for (const fs::path& file : files_below(words[i])) seeds.push_back(content(file));
  }
  if (seeds.empty() || alterations == 0) {
    fmt::print(stderr, "usage: {} COUNT SEED-FILE-OR-FOLDER...\n", words[0]);
    return 2;
  }
  Stream draws{1, drybus::sim::Purpose::generator, 0};
  for (const std::string& seed : seeds) {
    feed(seed);
    for (unsigned long i = 0; i < alterations; ++i) {
      std::string bytes = seed;
      for (auto times = 1 + draws.below(4); times > 0; --times)
        alter(bytes, seeds[draws.below(seeds.size())], draws);
      feed(bytes);
    }
  }
  fmt::print("{} seeds, {} inputs\n", seeds.size(), seeds.size() * (alterations + 1));
  return 0;
}
