#include "tools/panel/keep_workshop.h"

#include <fmt/format.h>

#include <boost/json.hpp>
#include <charconv>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::tr;

namespace fs = std::filesystem;
namespace json = boost::json;

namespace {

constexpr int workshop_format = 1;
constexpr std::string_view own_prefix = "bench-";

std::optional<BenchId> bench_of(const fs::path& file) {
  const std::string name = file.filename().string();
  if (!name.starts_with(own_prefix) || !name.ends_with(".json")) return std::nullopt;
  BenchId bench = 0;
  const char* end = name.data() + name.size() - 5;
  const auto [rest, error] = std::from_chars(name.data() + own_prefix.size(), end, bench);
  return error == std::errc{} && rest == end && bench != class_bench ? std::optional{bench} : std::nullopt;
}

json::object result_json(const Result& result) {
  json::array questions;
  for (const std::string& question : result.questions) questions.emplace_back(question);
  return {{"pupil", result.pupil},
          {"name", result.name},
          {"lesson", result.lesson},
          {"questions", std::move(questions)},
          {"answers", pupil_json(result.went)}};
}

Result result_from(const json::value& value) {
  Result result;
  result.pupil = value.at("pupil").to_number<std::uint32_t>();
  result.name = value.at("name").as_string();
  result.lesson = value.at("lesson").as_string();
  for (const json::value& question : value.at("questions").as_array())
    result.questions.emplace_back(question.as_string());
  result.went = pupil_from(value.at("answers"), result.questions.size());
  return result;
}

}  // namespace

fs::path kept_class_file(const fs::path& folder) {
  return folder / "class.json";
}

fs::path kept_own_file(const fs::path& folder, BenchId bench) {
  return folder / fmt::format("{}{}.json", own_prefix, bench);
}

std::string kept_class_text(const KeptWorkshop& kept) {
  json::array results;
  for (const Result& result : kept.results) results.push_back(result_json(result));
  return json_text(json::object{{"drybus-class", workshop_format},
                                {"open", kept.opened},
                                {"each", kept.each},
                                {"results", std::move(results)}}) +
         "\n";
}

KeptWorkshop parse_kept_class(std::string_view text, const std::string& place) {
  try {
    const json::value value = json::parse(json::string_view{text.data(), text.size()});
    if (value.at("drybus-class").to_number<int>() != workshop_format)
      throw std::invalid_argument{"another format"};
    KeptWorkshop kept;
    kept.opened = value.at("open").as_string();
    kept.each = value.at("each").as_bool();
    for (const json::value& result : value.at("results").as_array())
      kept.results.push_back(result_from(result));
    return kept;
  } catch (const std::exception&) {  // Boost.JSON throws several kinds
    throw Unusable{
        tr("{}: this is no class that 'drybus panel --keep' wrote; name another folder, or move it away",
           place)};
  }
}

std::optional<KeptWorkshop> read_kept_class(const fs::path& folder) {
  const fs::path file = kept_class_file(folder);
  if (!fs::exists(file)) return std::nullopt;
  return parse_kept_class(kept_bytes(file), file.string());
}

std::map<BenchId, KeptBench> read_kept_own(const fs::path& folder, const LoadedScenario& loaded) {
  std::map<BenchId, KeptBench> own;
  std::error_code error;
  for (const fs::directory_entry& entry : fs::directory_iterator{folder, error}) {
    const auto bench = bench_of(entry.path());
    if (!bench || own.size() >= most_own_benches) continue;
    KeptBench kept = parse_kept(kept_bytes(entry.path()), entry.path().string());
    if (kept.scenario == fingerprint_of(loaded)) own.emplace(*bench, std::move(kept));
  }
  return own;
}

void forget_kept_own(const fs::path& folder) {
  std::error_code error;
  std::vector<fs::path> old;
  for (const fs::directory_entry& entry : fs::directory_iterator{folder, error}) {
    if (bench_of(entry.path())) old.push_back(entry.path());
  }
  for (const fs::path& file : old) fs::remove(file, error);
}

}  // namespace drybus::tools
