// What is told of a module that lacks a word of its plate's generation.
#include "model/findings/narrator.h"
#include "model/record/describe.h"

namespace drybus::model {

Telegram Narrator::telegram_heard() const { return unpack(record_[observation_.evidence.back()].b); }

std::string Narrator::not_understood() const {
  const Telegram telegram = telegram_heard();
  const Family& own = site().family_of(first());
  const bool of_scenes = telegram.kind == TelegramKind::recall || telegram.kind == TelegramKind::store;
  const std::string lacks = of_scenes && knows(own.module, telegram.kind)
                                ? fmt::format("has {} scene{} only", own.module.scenes, own.module.scenes == 1 ? "" : "s")
                                : fmt::format("has no word for '{}'", to_string(telegram.kind));
  return fmt::format("{} heard '{}' from {} and did nothing: it is of the family {}, which {}. Nothing is broken.{}", first_name(),
                     to_string(telegram), site().name(observation_.devices[1]), own.name, lacks, how_it_came());
}

std::string Narrator::use_what_it_knows() const {
  const Telegram telegram = telegram_heard();
  const Family& own = site().family_of(first());
  const bool of_scenes = telegram.kind == TelegramKind::recall || telegram.kind == TelegramKind::store;
  const std::string instead =
      of_scenes && knows(own.module, telegram.kind)
          ? fmt::format("use scenes 1 to {} in this zone", own.module.scenes)
          : fmt::format("use what the family {} knows in this zone", own.name);
  return fmt::format("Either {}, or replace {} by a module of {}'s generation.{}", instead, first_name(),
                     site().name(observation_.devices[1]), caution());
}

}  // namespace drybus::model
