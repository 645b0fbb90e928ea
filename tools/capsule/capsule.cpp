#include "tools/capsule/capsule.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>
#include <map>

#include "model/words/words.h"
#include "sim/digest.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/script/family_search.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace json = boost::json;
namespace fs = std::filesystem;

namespace {

constexpr std::string_view beginning_of_capsules = "{\"drybus-capsule\":";
constexpr std::uint64_t capsule_version = 1;
constexpr std::size_t most_files = 1000;

std::string digest_of(std::string_view text) {
  sim::Digest digest;
  digest.add(text);
  return digest.value().hex();
}

std::string json_string(std::string_view text) {
  return json::serialize(json::string_view{text.data(), text.size()});
}

std::string file_text(const SourceFile& file) {
  return fmt::format("{{\"path\":{},\"digest\":{},\"text\":{}}}", json_string(file.path),
                     json_string(digest_of(file.text)), json_string(file.text));
}

// --- packing ---

fs::path whole_path(const fs::path& path) {
  return fs::absolute(path).lexically_normal();
}

/// The deepest folder that holds all of these.
fs::path common_folder(const std::vector<fs::path>& files) {
  fs::path common = files.front().parent_path();
  for (const fs::path& file : files) {
    fs::path shared;
    for (auto a = common.begin(), b = file.begin(); a != common.end() && b != file.end() && *a == *b;
         ++a, ++b) {
      shared /= *a;
    }
    common = shared;
  }
  return common;
}

/// What the files of a scenario are called in its capsule: as they lie to one another. A family that was
/// found by its name may have come from anywhere; it goes where its name is looked for first.
class Renaming {
 public:
  explicit Renaming(const LoadedScenario& loaded) {
    name({loaded.family_ref, loaded.family_file});
    for (const FamilySource& other : loaded.other_families) name(other);
    std::vector<fs::path> lying;
    for (const SourceFile& source : loaded.sources) {
      if (!families_.contains(whole_path(source.path))) lying.push_back(whole_path(source.path));
    }
    root_ = common_folder(lying);
  }

  [[nodiscard]] std::string operator()(const fs::path& path) const {
    const fs::path whole = whole_path(path);
    // Files name one another in good text, so that only what nothing refers to can lose a byte here.
    const auto family = families_.find(whole);
    return as_utf8(family != families_.end() ? family->second.string()
                                             : whole.lexically_relative(root_).string());
  }

 private:
  void name(const FamilySource& family) {
    if (is_family_path(family.ref)) return;
    families_[whole_path(family.file)] = fs::path{"families"} / (family.ref + ".yaml");
  }

  std::map<fs::path, fs::path> families_;  ///< those that were found by name, and what they are called
  fs::path root_;
};

// --- reading ---

[[noreturn]] void unusable(const std::string& name, std::string_view why) {
  throw Unusable{fmt::format("{}: {}", name, why)};
}

/// The members of a JSON object, each of which has to be there.
class Members {
 public:
  Members(const std::string& name, const json::value& value) : name_(name), object_(value.if_object()) {
    if (object_ == nullptr) unusable(name_, tr("not a capsule: an object was expected"));
  }

  [[nodiscard]] std::string text(std::string_view key) const {
    const json::string* text = find(key).if_string();
    if (text == nullptr) wrong(key, msg("a text"));
    return {text->data(), text->size()};
  }

  [[nodiscard]] std::uint64_t number(std::string_view key) const {
    const json::value& value = find(key);
    if (value.is_uint64()) return value.get_uint64();
    if (!value.is_int64() || value.get_int64() < 0) wrong(key, msg("a whole number"));
    return static_cast<std::uint64_t>(value.get_int64());
  }

  [[nodiscard]] const json::array& array(std::string_view key) const {
    const json::array* array = find(key).if_array();
    if (array == nullptr) wrong(key, msg("a list"));
    return *array;
  }

 private:
  [[nodiscard]] const json::value& find(std::string_view key) const {
    const json::value* value = object_->if_contains(json::string_view{key.data(), key.size()});
    if (value == nullptr) unusable(name_, tr("not a whole capsule: '{}' is missing", key));
    return *value;
  }

  [[noreturn]] void wrong(std::string_view key, std::string_view expected) const {
    unusable(name_, tr("not a whole capsule: '{}' should be {}", key, in_words_spoken(expected)));
  }

  const std::string& name_;
  const json::object* object_;
};

json::value parse_json(const std::string& name, const std::string& text) {
  json::parser parser;
  boost::system::error_code error;
  const std::size_t read = parser.write(text.data(), text.size(), error);
  if (!error) return parser.release();
  unusable(name, tr("not a whole capsule: byte {}: {}", read, error.message()));
}

sim::Duration duration_of(const std::string& name, std::uint64_t ns) {
  if (ns > static_cast<std::uint64_t>(sim::Duration::max().count()))
    unusable(name, tr("not a whole capsule: 'until_ns' is beyond all runs"));
  return sim::Duration{static_cast<std::int64_t>(ns)};
}

std::string changed_text(const Capsule& capsule, const std::string& path) {
  const std::string name = harmless(path);
  if (path == capsule.scenario) return tr("the scenario {} was changed after packing", name);
  if (path == capsule.family) return tr("the family file {} was changed after packing", name);
  return tr("the file {} was changed after packing", name);
}

}  // namespace

Capsule pack(const LoadedScenario& loaded, CapsuleRun run) {
  const Renaming renamed{loaded};
  Capsule capsule{std::move(run), renamed(loaded.sources.front().path), renamed(loaded.family_file), {}};
  for (const SourceFile& source : loaded.sources)
    capsule.files.push_back({renamed(source.path), source.text});
  try {
    open_capsule(tr("the capsule"), capsule);
  } catch (const Unusable& error) {
    throw Unusable{tr("{}: cannot be packed; name every file that it reads relative to itself\n{}",
                      loaded.sources.front().path, error.what())};
  }
  return capsule;
}

std::string to_text(const Capsule& capsule) {
  std::string text = fmt::format(
      "{}{},\n\"program\":{},\n\"firmware\":{},\n\"scenario\":{},\n\"family\":{},\n\"seed\":{},\n\"until_"
      "ns\":{},\n"
      "\"run\":{},\n\"files\":[\n",
      beginning_of_capsules, capsule_version, json_string(capsule.run.program),
      json_string(capsule.run.firmware), json_string(capsule.scenario), json_string(capsule.family),
      capsule.run.seed, capsule.run.until.count(), json_string(capsule.run.digest));
  for (const SourceFile& file : capsule.files) {
    text += file_text(file);
    text += &file == &capsule.files.back() ? "],\n" : ",\n";
  }
  const std::string whole = digest_of(text);
  return text + fmt::format("\"digest\":{}}}\n", json_string(whole));
}

bool is_capsule(std::string_view beginning) {
  return beginning.starts_with(beginning_of_capsules);
}

Capsule parse_capsule(const std::string& name, const std::string& text) {
  const json::value value = parse_json(name, text);
  const Members members{name, value};
  if (const std::uint64_t version = members.number("drybus-capsule"); version != capsule_version) {
    unusable(name, tr("a capsule of version {}; this drybus reads version {}", version, capsule_version));
  }
  Capsule capsule;
  capsule.scenario = members.text("scenario");
  capsule.family = members.text("family");
  capsule.run = {members.text("program"), members.text("firmware"), members.number("seed"),
                 duration_of(name, members.number("until_ns")), members.text("run")};
  const json::array& files = members.array("files");
  if (files.empty() || files.size() > most_files) unusable(name, tr("a capsule of {} files", files.size()));
  for (const json::value& each : files) {
    const Members file{name, each};
    capsule.files.push_back({file.text("path"), file.text("text")});
    const std::string& path = capsule.files.back().path;
    if (file.text("digest") != digest_of(capsule.files.back().text)) {
      unusable(name, changed_text(capsule, path));
    }
  }
  if (to_text(capsule) != text)
    unusable(name, tr("it was changed after packing: something beside the files in it"));
  return capsule;
}

LoadedScenario open_capsule(const std::string& name, const Capsule& capsule) {
  const BundledFiles files{capsule.files};
  ReadOptions options;
  options.family_folders.clear();
  options.files = &files;
  auto reading = read_scenario(capsule.scenario, options);
  if (!reading.ok()) throw Unusable{tr("{}: in it,\n{}", name, to_text(reading.problems()))};
  reading.value().scenario.seed = capsule.run.seed;
  // cppcheck-suppress returnStdMoveLocal // value() is a reference
  return std::move(reading.value());
}

std::vector<std::string> differences(const std::string& name, const CapsuleRun& run,
                                     std::string_view firmware) {
  std::vector<std::string> lines;
  if (run.program != DRYBUS_VERSION) {
    lines.push_back(
        tr("{}: packed by drybus {}; this is drybus {}", name, harmless(run.program), DRYBUS_VERSION));
  }
  if (run.firmware != firmware) {
    lines.push_back(tr("{}: packed with the firmware {}; this run is made with {}", name,
                       harmless(run.firmware), firmware));
  }
  return lines;
}

}  // namespace drybus::tools
