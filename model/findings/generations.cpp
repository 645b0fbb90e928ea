// What is told of a module that lacks a word of its plate's generation.
#include "model/findings/narrator.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

Telegram Narrator::telegram_heard() const {
  return unpack(record_[observation_.evidence.back()].b);
}

std::string Narrator::not_understood() const {
  const Telegram telegram = telegram_heard();
  const Family& own = site().family_of(first());
  const bool of_scenes = telegram.kind == TelegramKind::recall || telegram.kind == TelegramKind::store;
  const std::string& from = site().name(observation_.devices[1]);
  return (of_scenes && knows(own.module, telegram.kind)
              ? plural("{} heard '{}' from {} and did nothing: it is of the family {}, which has {} scene "
                       "only. Nothing is broken.",
                       "{} heard '{}' from {} and did nothing: it is of the family {}, which has {} scenes "
                       "only. Nothing is broken.",
                       own.module.scenes, first_name(), spoken(telegram), from, own.name, own.module.scenes)
              : tr("{} heard '{}' from {} and did nothing: it is of the family {}, which has no word for "
                   "'{}'. Nothing is broken.",
                   first_name(), spoken(telegram), from, own.name, spoken(telegram.kind))) +
         how_it_came();
}

std::string Narrator::use_what_it_knows() const {
  const Telegram telegram = telegram_heard();
  const Family& own = site().family_of(first());
  const bool of_scenes = telegram.kind == TelegramKind::recall || telegram.kind == TelegramKind::store;
  const std::string& plate = site().name(observation_.devices[1]);
  return (of_scenes && knows(own.module, telegram.kind)
              ? tr("Either use scenes 1 to {} in this zone, or replace {} by a module of {}'s generation.",
                   own.module.scenes, first_name(), plate)
              : tr("Either use what the family {} knows in this zone, or replace {} by a module of {}'s "
                   "generation.",
                   own.name, first_name(), plate)) +
         caution();
}

}  // namespace drybus::model
