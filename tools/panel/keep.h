// A bench that outlives its program: its branches, where they stand, who was there, and the links, in one file of a folder.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/lesson/pupil.h"
#include "tools/panel/bench.h"
#include "tools/panel/room.h"

namespace drybus::tools {

/// A branch as it is kept: its scenario as text, from which it runs again to where it stood.
struct KeptCourse {
  BranchId id = 0;
  std::string name;
  BranchKind kind = BranchKind::free;
  std::optional<BranchId> parent;
  sim::Instant from{};
  sim::Instant now{};
  sim::Instant reached{};
  std::string text;  ///< empty for the demonstration, which is the scenario's own script
};

struct KeptSeat {
  ViewerId id = 0;
  std::string name;
  std::string key;
  Role role = Role::trainer;
};

/// By which people come in: a link that was written on a board goes on to hold.
struct KeptLinks {
  std::string token;
  std::string trainer_key;
  std::string onlooker_token;
};

struct KeptBench {
  std::string scenario;  ///< a fingerprint of the text: what is kept belongs to this one
  std::vector<KeptCourse> courses;
  BranchId chosen = 0;
  double speed = 1;
  Curtain curtain = Curtain::open;
  std::vector<KeptSeat> seats;
  std::optional<ViewerId> holder;
  KeptLinks links;
  std::optional<model::Pupil> pupil;  ///< of a lesson: the answers so far
};

/// What a scenario's texts are, in a few letters.
std::string fingerprint_of(const LoadedScenario& loaded);

/// The bench's part of what is to be kept. Nobody's finger stays on a button over the end of the program.
KeptBench kept_of(const Bench& bench);
/// Puts the bench where it stood. Throws Unusable for a text that does not read as a scenario of the same site.
void resume(Bench& bench, const KeptBench& kept);

std::string kept_text(const KeptBench& kept);
/// Throws Unusable where it is not what kept_text writes; `place` is told.
KeptBench parse_kept(std::string_view text, const std::string& place);

/// What stands in a file that is kept. Throws Unusable where it cannot be read.
std::string kept_bytes(const std::filesystem::path& file);

/// The file in the folder.
std::filesystem::path kept_file(const std::filesystem::path& folder);

/// What the folder keeps, if it keeps anything. Makes the folder where there is none. Throws Unusable where it cannot be
/// read or written, or where it keeps a bench of another scenario.
std::optional<KeptBench> read_kept(const std::filesystem::path& folder, const LoadedScenario& loaded);

}  // namespace drybus::tools
