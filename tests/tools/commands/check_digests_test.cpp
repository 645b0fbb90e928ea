// drybus check --digests: what is stored guards against silent change.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::content_of;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
using drybus::tests::shell;
namespace fs = std::filesystem;

/// A folder with one small scenario, to work in.
struct Workplace {
  Folder folder;
  fs::path path = folder.path();
  Workplace() {
    fs::create_directory(path / "s");
    fs::copy_file(DRYBUS_SOURCE_DIR "/scenarios/training/zone-zero.yaml", path / "s/one.yaml");
  }

  [[nodiscard]] Ran check(const std::string& options) const {
    return shell(fmt::format("cd {} && DRYBUS_FAMILIES=" DRYBUS_SOURCE_DIR
                             "/scenarios/families " DRYBUS_PROGRAM " check s {}",
                             path.string(), options));
  }
  [[nodiscard]] std::string stored() const { return content_of(path / "d.json"); }
};

TEST_CASE("a digest that was accepted passes, and one that moved fails and says what moved") {
  const Workplace place;
  CHECK(place.check("--digests d.json").exit_code == 2);
  const Ran first = place.check("--digests d.json --accept");
  CHECK(first.exit_code == 0);
  CHECK(has(first.err, "new    s/one.yaml"));
  CHECK(place.check("--digests d.json").exit_code == 0);

  // Another seed: other draws, hence another digest, and nothing else.
  const Ran moved = place.check("--digests d.json --seed 99");
  CHECK(moved.exit_code == 1);
  CHECK(has(moved.out, "not as stored: digest "));

  const std::string before = place.stored();
  CHECK(place.check("--digests d.json --accept --seed 99").exit_code == 0);
  CHECK(place.stored() != before);
  CHECK(place.check("--digests d.json").exit_code == 1);
  CHECK(has(place.check("--digests d.json --accept").err, "moved  s/one.yaml: digest "));
  CHECK(place.stored() == before);
}

TEST_CASE("a scenario without a stored digest fails, and one that is gone is dropped when accepted") {
  const Workplace place;
  REQUIRE(place.check("--digests d.json --accept").exit_code == 0);
  fs::copy_file(place.path / "s/one.yaml", place.path / "s/two.yaml");
  const Ran unknown = place.check("--digests d.json");
  CHECK(unknown.exit_code == 1);
  CHECK(has(unknown.out, "no digest is stored for it"));
  fs::remove(place.path / "s/one.yaml");
  CHECK(has(place.check("--digests d.json --accept").err, "gone   s/one.yaml"));
  CHECK_FALSE(has(place.stored(), "one.yaml"));
}

TEST_CASE("a file that holds no digests is refused and left as it is") {
  const Workplace place;
  place.folder.write("d.json", "[1, 2]");
  CHECK(place.check("--digests d.json").exit_code == 2);
  CHECK(place.check("--digests d.json --accept").exit_code == 2);
  CHECK(place.stored() == "[1, 2]");
  CHECK(place.check("--accept").exit_code == 2);
}

}  // namespace
