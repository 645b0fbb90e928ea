#include "tools/commands/sweep_store.h"

#include <fmt/format.h>

#include <boost/json.hpp>
#include <fstream>
#include <sstream>

#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

std::string block_text(const model::SweepPart& part, const std::string& key) {
  json::object findings;
  for (std::size_t i = 0; i < model::finding_count; ++i) {
    if (part.hits[i] == 0) continue;
    findings[to_string(static_cast<model::FindingId>(i))] =
        json::object{{"runs", part.hits[i]}, {"first_run", part.first_run[i]}};
  }
  const json::object block{{"sweep", key},
                           {"first", part.first},
                           {"runs", part.runs},
                           {"with_slip", part.with_slip},
                           {"with_finding", part.with_finding},
                           {"findings", findings}};
  return json::serialize(block) + "\n";
}

model::SweepPart part_from(const std::string& text, const std::string& key) {
  const json::object block = json::parse(text).as_object();
  if (block.at("sweep").as_string() != key) throw Unusable{tr("of another sweep")};
  model::SweepPart part;
  part.first = block.at("first").to_number<std::uint64_t>();
  part.runs = block.at("runs").to_number<std::uint64_t>();
  part.with_slip = block.at("with_slip").to_number<std::uint64_t>();
  part.with_finding = block.at("with_finding").to_number<std::uint64_t>();
  for (std::size_t i = 0; i < model::finding_count; ++i) {
    const auto id = to_string(static_cast<model::FindingId>(i));
    const json::value* found = block.at("findings").as_object().if_contains(id);
    if (found == nullptr) continue;
    part.hits[i] = found->at("runs").to_number<std::uint64_t>();
    part.first_run[i] = found->at("first_run").to_number<std::uint64_t>();
  }
  return part;
}

SweepStore::SweepStore(std::filesystem::path folder, std::string key)
    : folder_(std::move(folder)), key_(std::move(key)) {
  std::error_code error;
  std::filesystem::create_directories(folder_, error);
  if (error || !std::filesystem::is_directory(folder_)) {
    throw Unusable{tr("{}: cannot be used as a folder: {}", folder_.string(), error.message())};
  }
}

std::filesystem::path SweepStore::file(std::uint64_t first_run) const {
  return folder_ / fmt::format("{}-{:012}.json", key_.substr(0, 12), first_run);
}

std::optional<model::SweepPart> SweepStore::find(std::uint64_t first_run) const {
  const std::filesystem::path path = file(first_run);
  std::ifstream stream{path};
  if (!stream) return std::nullopt;
  std::ostringstream text;
  text << stream.rdbuf();
  try {
    const model::SweepPart part = part_from(text.str(), key_);
    if (part.first != first_run || part.runs == 0) throw Unusable{tr("of other runs")};
    return part;
  } catch (const std::exception& error) {
    throw Unusable{tr("{}: is no block of this sweep ({}); remove it or name another folder", path.string(),
                      reason_of(error))};
  }
}

void SweepStore::keep(const model::SweepPart& part) const {
  write_file(file(part.first), block_text(part, key_));
}

}  // namespace drybus::tools
