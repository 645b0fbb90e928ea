#include "tools/commands/panel_shelf.h"

#include <algorithm>
#include <filesystem>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/load/file_kind.h"
#include "tools/load/load.h"
#include "tools/load/load_lesson.h"

namespace drybus::tools {

namespace fs = std::filesystem;
using model::tr;

namespace {

constexpr std::size_t most_offers = 500;
constexpr std::size_t longest_sentence = 200;

/// The first sentence, in one line.
std::string first_sentence(const std::string& text) {
  std::string sentence;
  for (const char letter : text) {
    const bool is_space = letter == ' ' || letter == '\n';
    if (is_space && !sentence.empty() && (sentence.back() == '.' || sentence.back() == '?')) break;
    if (!is_space) sentence += letter;
    if (is_space && !sentence.empty() && sentence.back() != ' ') sentence += ' ';
  }
  while (sentence.ends_with(' ')) sentence.pop_back();
  return sentence;
}

Offer offer_of(const std::string& path, const FirmwareChoice& firmware) {
  Offer offer{path, fs::path{path}.stem().string(), {}, 0, 0, {}};
  try {
    const Task task = load_task(path, firmware);
    offer.title = task.lesson ? task.lesson->lesson.title : task.story.scenario.title;
    offer.about = first_sentence(task.lesson ? task.lesson->lesson.about : task.story.scenario.about);
    offer.questions = task.lesson ? task.lesson->lesson.questions.size() : 0;
    offer.devices = task.story.scenario.site.device_count();
  } catch (const Unusable& why) {
    offer.trouble = std::string{why.what()}.substr(0, longest_sentence);
  }
  return offer;
}

}  // namespace

Task load_task(const std::string& path, const FirmwareChoice& firmware) {
  if (is_of_kind(path, FileKind::lesson)) {
    auto lesson = std::make_shared<const LoadedLesson>(load_lesson(path));
    LoadedScenario story = lesson->story;
    firmware.put_in(story.scenario);
    return {std::move(story), std::move(lesson)};
  }
  LoadedScenario loaded = load_scenario(path);
  firmware.put_in(loaded.scenario);
  return {std::move(loaded)};
}

Shelf read_shelf(const std::string& folder, const FirmwareChoice& firmware) {
  std::vector<std::string> paths;
  std::error_code error;
  for (const fs::directory_entry& entry : fs::directory_iterator{folder, error}) {
    const std::string path = entry.path().string();
    if (is_of_kind(path, FileKind::scenario) || is_of_kind(path, FileKind::lesson)) paths.push_back(path);
  }
  std::sort(paths.begin(), paths.end());
  if (paths.size() > most_offers)
    throw Unusable{tr("{}: {} scenarios and lessons are more than a list can show; {} is the most", folder,
                      paths.size(), most_offers)};
  Shelf shelf{folder, {}, [firmware](const Offer& offer) { return load_task(offer.path, firmware); }};
  for (const std::string& path : paths) shelf.offers.push_back(offer_of(path, firmware));
  const bool any = std::any_of(shelf.offers.begin(), shelf.offers.end(),
                               [](const Offer& offer) { return offer.trouble.empty(); });
  if (!any) {
    throw Unusable{paths.empty() ? tr("{}: no scenario and no lesson lies here", folder)
                                 : tr("{}: none of what lies here can be opened; {}", folder,
                                      shelf.offers.front().trouble)};
  }
  return shelf;
}

}  // namespace drybus::tools
