// A capsule: a run in one file that replays anywhere. It holds the scenario, its family, its site and
// whatever else the scenario reads, the seed, and the digest that the run came to.
//
// A capsule is one JSON object, always written the same way, so that a changed byte shows:
//
//     {"drybus-capsule":1,
//     "program":"0.1.0",                    the drybus that packed it
//     "firmware":"built-in",                the device logic that ran
//     "scenario":"setup-split.yaml",        which of the files is the scenario
//     "family":"families/wired-keypad.yaml",
//     "seed":11,
//     "until_ns":2678400000000000,          the run was given up after that
//     "run":"...",                          the run's digest
//     "files":[
//     {"path":"setup-split.yaml","digest":"...","text":"..."},
//     {"path":"families/wired-keypad.yaml","digest":"...","text":"..."}],
//     "digest":"..."}                       of everything above
//
// Paths are names within the capsule; nothing is looked for on the disk. Digests are XXH3 (128 bits): they
// show what has changed, not who changed it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "sim/time.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// Larger capsules are refused unread.
inline constexpr std::size_t max_capsule_bytes = std::size_t{64} << 20;

/// The device logic of the program itself.
inline constexpr std::string_view built_in_firmware = "built-in";

/// How a run was made, and what it came to.
struct CapsuleRun {
  std::string program;
  std::string firmware;
  std::uint64_t seed = 0;
  sim::Duration until{};
  std::string digest;  ///< hex
};

struct Capsule {
  CapsuleRun run;
  std::string scenario;
  std::string family;
  std::vector<SourceFile> files;  ///< in the order in which they were read
};

/// Packs what a scenario was read from. Throws Unusable when that cannot be read without the disk it came
/// from.
Capsule pack(const LoadedScenario& loaded, CapsuleRun run);

std::string to_text(const Capsule& capsule);

/// Whether a file that begins like this is a capsule.
bool is_capsule(std::string_view beginning);

/// Reads a capsule's text. Throws Unusable when it is not as it was packed, and names what was changed.
/// `name` is the file's.
Capsule parse_capsule(const std::string& name, const std::string& text);

/// Reads the scenario out of a capsule, with its own seed. Throws Unusable.
LoadedScenario open_capsule(const std::string& name, const Capsule& capsule);

/// How this program differs from the one that packed: one line each, for people.
std::vector<std::string> differences(const std::string& name, const CapsuleRun& run,
                                     std::string_view firmware);

}  // namespace drybus::tools
