// Who has which piece; what ranks say; threads that work beside. Without any MPI.
#include "tools/cluster/ledger.h"

#include <doctest/doctest.h>

#include <chrono>
#include <map>
#include <set>
#include <stdexcept>
#include <string>
#include <thread>

#include "tools/cluster/crew.h"
#include "tools/cluster/message.h"

namespace {

using namespace drybus::tools;
using namespace std::chrono_literals;

TEST_CASE("every piece is handed out once, and what a silent rank has is done again") {
  Ledger ledger{3};
  ledger.begin(3);
  const Ledger::Time start{};
  CHECK(ledger.look_for_lost(start, 5s).empty());
  CHECK(ledger.hand_to(1) == 0u);
  CHECK(ledger.hand_to(2) == 1u);
  CHECK(ledger.hand_to(0) == 2u);
  CHECK(!ledger.hand_to(1));
  CHECK(!ledger.heard(2, start + 4s));
  CHECK(ledger.look_for_lost(start + 6s, 5s) == std::vector<std::size_t>{1});
  CHECK(ledger.look_for_lost(start + 6s, 5s).empty());
  CHECK(ledger.lost() == 1);
  CHECK(!ledger.hand_to(1));
  CHECK(ledger.hand_to(2) == 0u);
  CHECK(ledger.take(2, 0));
  CHECK(ledger.take(2, 1));
  CHECK(!ledger.is_done());
  CHECK(ledger.take(0, 2));
  CHECK(ledger.is_done());
}

TEST_CASE("a rank that was given up and answers all the same is back, and no answer counts twice") {
  Ledger ledger{2};
  ledger.begin(2);
  const Ledger::Time start{};
  ledger.look_for_lost(start, 5s);
  CHECK(ledger.hand_to(1) == 0u);
  CHECK(ledger.look_for_lost(start + 5s, 5s).size() == 1);
  CHECK(ledger.heard(1, start + 7s));
  CHECK(ledger.take(1, 0));
  CHECK(ledger.hand_to(0) == 1u);
  CHECK(!ledger.take(0, 0));
  CHECK(ledger.take(0, 1));
  CHECK(!ledger.take(1, 7));
  CHECK(ledger.is_done());
  ledger.begin(0);
  CHECK(ledger.is_done());
}

TEST_CASE("a message comes out as it went in, and what is none is refused") {
  const Message message{.said = Said::answer,
                        .stage = 3,
                        .number = 1ull << 40,
                        .offset = 6,
                        .total = 9,
                        .text = std::string("a\0b", 3)};
  const auto back = message_from(to_bytes(message));
  REQUIRE(back);
  CHECK(back->said == message.said);
  CHECK(back->stage == message.stage);
  CHECK(back->number == message.number);
  CHECK(back->offset == message.offset);
  CHECK(back->total == message.total);
  CHECK(back->text == message.text);
  CHECK(!message_from("short"));
  CHECK(!message_from(std::string(40, '\xff')));
}

TEST_CASE(
    "an answer of any length is put together again, also when it is begun anew, and of several pieces at "
    "once") {
  for (const std::size_t length :
       {std::size_t{0}, std::size_t{1}, most_text, most_text + 1, 10 * most_text + 7}) {
    const std::string text(length, 'x');
    const auto parts = in_parts({.said = Said::answer, .number = 5}, text);
    CHECK(parts.size() == std::max<std::size_t>(1, (length + most_text - 1) / most_text));
    Assembly assembly;
    if (parts.size() > 1) CHECK(!assembly.add(parts[0]));
    std::optional<std::string> whole;
    for (const Message& part : parts) {
      CHECK(!whole);
      CHECK(part.text.size() <= most_text);
      Message other = part;
      other.number = 6;
      assembly.add(other);
      whole = assembly.add(part);
    }
    REQUIRE(whole);
    CHECK(*whole == text);
  }
  Assembly middle;
  CHECK(!middle.add({.said = Said::answer, .offset = most_text, .total = most_text + 1, .text = "x"}));
}

TEST_CASE("a crew does what it is given, tells of what fails, and ends with pieces that were not begun") {
  Crew crew{2, [](std::size_t i) -> std::string {
              if (i == 7) throw std::runtime_error{"seven"};
              return std::to_string(i * i);
            }};
  for (std::size_t i = 0; i < 20; ++i) crew.give(i);
  std::map<std::size_t, std::string> answers;
  std::set<std::size_t> failed;
  while (answers.size() + failed.size() < 20) {
    const auto done = crew.next();
    if (!done) {
      std::this_thread::yield();
    } else if (done->error) {
      failed.insert(done->piece);
    } else {
      answers[done->piece] = done->answer;
    }
  }
  CHECK(failed == std::set<std::size_t>{7});
  CHECK(answers.at(19) == "361");
  for (std::size_t i = 0; i < 1000; ++i) crew.give(1);
}

}  // namespace
