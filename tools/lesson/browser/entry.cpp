// The way in from a page's script: texts go in and come out as UTF-8 in memory. One lesson, opened once.
#include <boost/json/src.hpp>
#include <cstdint>
#include <cstdlib>
#include <memory>

#include "tools/lesson/browser/planted_tree.h"
#include "tools/lesson/class_room.h"
#include "tools/words/catalogue.h"

namespace {

using namespace drybus::tools;
namespace json = boost::json;

std::unique_ptr<ClassRoom>& room() {
  static std::unique_ptr<ClassRoom> only;
  return only;
}

/// The page's words are spoken from then on.
void speak(const json::value& words) {
  static std::unique_ptr<Catalogue> catalogue;
  static std::unique_ptr<drybus::model::Speaking> speaking;
  catalogue = std::make_unique<Catalogue>(Catalogue::from_page(json::serialize(words)));
  speaking = std::make_unique<drybus::model::Speaking>(catalogue.get());
}

/// Where the last answer lies until the next one.
std::string& told() {
  static std::string text;
  return text;
}

void open_bundle(std::string_view text) {
  const json::value bundle = json::parse(json::string_view{text.data(), text.size()});
  if (const json::value* words = bundle.as_object().if_contains("words")) speak(*words);
  std::vector<SourceFile> files;
  for (const json::value& file : bundle.at("files").as_array()) {
    const std::string path{file.at("path").as_string().c_str()};
    files.push_back({path, file.at("text").as_string().c_str()});
    plant_tree(path, file.at("tree"));
  }
  const BundledFiles bundled{std::move(files)};
  const ReadOptions options{{}, &bundled};  // nothing is looked for where there are no folders
  auto reading = read_lesson(bundle.at("lesson").as_string().c_str(), options);
  told() = reading.ok() ? "" : to_text(reading.problems());
  if (reading.ok()) room() = std::make_unique<ClassRoom>(std::move(reading.value()));
}

RealTime real_time(double real_ms) {
  return RealTime{static_cast<std::int64_t>(real_ms * 1e6)};
}

}  // namespace

extern "C" {

/// Room for a text that is to come in; given back by the call that takes it.
char* drybus_room(std::uint32_t bytes) {
  return static_cast<char*>(std::malloc(bytes + 1));
}

const char* drybus_told() {
  return told().data();
}

std::uint32_t drybus_told_bytes() {
  return static_cast<std::uint32_t>(told().size());
}

/// What is wrong with it is told; nothing when it is open.
void drybus_open(char* text, std::uint32_t bytes) {
  open_bundle({text, bytes});
  std::free(text);
}

void drybus_say(char* text, std::uint32_t bytes, double real_ms) {
  room()->receive({text, bytes}, real_time(real_ms));
  std::free(text);
}

/// Time goes by, and what the bench has to say is told.
void drybus_at(double real_ms) {
  room()->at_real(real_time(real_ms));
  told() = room()->take_messages();
}

void drybus_digest() {
  const drybus::model::Speaking speaking{nullptr};
  told() = room()->digest();
}
}
