#include "tools/base/file_claims.h"

#include <sys/mman.h>

#include <algorithm>
#include <atomic>
#include <mutex>
#include <new>
#include <set>
#include <vector>

#include "model/words/words.h"
#include "tools/base/output_place.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace fs = std::filesystem;
using model::tr;

namespace {

struct Claim {
  std::string option;
  fs::path path;
  std::optional<FileIdentity> identity;
  bool updated = false;  ///< it may be read
};

/// Shared with processes that are started later: what one of them reads counts for all.
std::atomic<std::size_t>& in_shared_memory() {
  void* page = ::mmap(nullptr, sizeof(std::atomic<std::size_t>), PROT_READ | PROT_WRITE,
                      MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  if (page == MAP_FAILED) throw std::bad_alloc{};
  return *new (page) std::atomic<std::size_t>{0};
}

std::string read_text(const Claim& claim) {
  return tr("{}: {} is read by this command and is not written over; name another file", claim.option,
            claim.path.string());
}

class FileClaims {
 public:
  void claim(const std::string& option, const fs::path& path) {
    if (path.empty()) throw Unusable{tr("{}: the name of a file is missing", option)};
    Claim claim{option, path, output_place(path).identity};
    const std::lock_guard lock{mutex_};
    if (claim.identity) {
      if (reads_.contains(*claim.identity)) throw Unusable{read_text(claim)};
      if (const Claim* other = claimed(*claim.identity)) {
        throw Unusable{tr("{}: {} is written by {} already", option, path.string(), other->option)};
      }
    }
    claims_.push_back(std::move(claim));
  }

  void note_read(const fs::path& path) {
    const std::optional<FileIdentity> identity = identity_of(path);
    if (!identity) return;
    const std::lock_guard lock{mutex_};
    const Claim* claim = claimed(*identity);
    if (claim != nullptr && claim->updated) return;
    reads_.insert(*identity);
    if (claim == nullptr) return;
    clash_ = static_cast<std::size_t>(claim - claims_.data()) + 1;
    throw Unusable{read_text(*claim)};
  }

  void allow_update(const fs::path& path) {
    const std::optional<FileIdentity> identity = identity_of(path);
    const std::lock_guard lock{mutex_};
    refuse_clash();
    if (!identity) return;
    for (Claim& claim : claims_) {
      if (claim.identity != identity && claim.path != path) continue;
      claim.identity = identity;  // it was written meanwhile, by whomever
      claim.updated = true;
    }
  }

  void check(std::span<const fs::path> paths) {
    std::set<FileIdentity> own;
    const std::lock_guard lock{mutex_};
    refuse_clash();
    for (const fs::path& path : paths) {
      const std::optional<FileIdentity> identity = output_place(path).identity;
      if (!identity) continue;
      if (reads_.contains(*identity)) {
        throw Unusable{tr("{}: is read by this command and is not written over", path.string())};
      }
      if (!own.insert(*identity).second) throw Unusable{tr("{}: would be written twice", path.string())};
    }
  }

 private:
  void refuse_clash() const {
    if (const std::size_t clash = clash_; clash != 0) throw Unusable{read_text(claims_[clash - 1])};
  }

  [[nodiscard]] const Claim* claimed(const FileIdentity& identity) const {
    const auto found = std::find_if(claims_.begin(), claims_.end(),
                                    [&](const Claim& claim) { return claim.identity == identity; });
    return found == claims_.end() ? nullptr : &*found;
  }

  std::mutex mutex_;
  std::vector<Claim> claims_;
  std::set<FileIdentity> reads_;
  std::atomic<std::size_t>& clash_ = in_shared_memory();  ///< 1 + the claim of a file that was read; 0: none
};

FileClaims& claims() {
  static FileClaims all;
  return all;
}

}  // namespace

void claim_output(const std::string& option, const fs::path& path) {
  claims().claim(option, path);
}
void note_read(const fs::path& path) {
  claims().note_read(path);
}
void allow_update(const fs::path& path) {
  claims().allow_update(path);
}
void check_outputs(std::span<const fs::path> paths) {
  claims().check(paths);
}

}  // namespace drybus::tools
