// Somebody had read the plate's switches out, number for number, and a call asked ten times more what they show, took them
// to be set wrong all the same, and had the plate opened and a sound site addressed again.
#include <doctest/doctest.h>

#include <algorithm>

#include "model/call/guide.h"
#include "tests/support/catalogue.h"
#include "tests/support/files.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;

const std::string nothing_is_wrong = R"(drybus-report: 1
title: "I only want to be sure"
family: wired-keypad
site:
  plates:
    P1: {label: Door plate, switches: {site: 21, zone: 3}}
  modules:
    M1: {label: Window, intended: 21/3/1}
    M2: {label: Table, intended: 21/3/2}
script:
  - addressed: {with: P1, modules: [M1, M2]}
  - wait: about 1min
  - press: P1 down
  - wait: 2s
  - seen: {M1: off, M2: off}
  - press: P1 up
  - wait: 2s
seen:
  - {M1: on, M2: on}
)";

bool is_of_its_switches(const Account& way) {
  return std::any_of(way.causes.begin(), way.causes.end(),
                     [](const PlacedCause& cause) { return cause.cause == Mishap::switch_wrong; });
}

bool takes_them_to_be_wrong(const Diagnosis& diagnosis) {
  return std::any_of(diagnosis.explanations.begin(), diagnosis.explanations.end(), [](const auto& each) {
    return std::any_of(each.ways.begin(), each.ways.end(), is_of_its_switches);
  });
}

TEST_SUITE("regressions") {
  TEST_CASE("who has read a plate's switches has answered every question about them") {
    const tests::Folder folder;
    const Report told = tools::load_report(folder.write("sure.yaml", nothing_is_wrong)).call;
    const Diagnosis before = diagnose(told, tests::shipped_catalogue());
    REQUIRE(takes_them_to_be_wrong(before));

    std::vector<CallAnswer> answers(1);
    answers[0].question = "Read the switches of Door plate: do they show site 21, zone 3?";
    answers[0].answer = "yes";
    answers[0].read = {{0, 21, 3, {}}};
    const Report read = with_answers(told, answers);
    CHECK_FALSE(takes_them_to_be_wrong(diagnose(read, tests::shipped_catalogue())));

    // Whatever else is in question, and however the others that may be true had it.
    std::size_t asked = 0;
    for (; asked < 25; ++asked) {
      const auto question = next_question(read, before, answers);
      if (!question) break;
      CHECK_MESSAGE(!question->numbers, question->text);
      answers.push_back({Asked::check, question->text, "cannot", {}, {}, {}, 0});
    }
    CHECK(asked > 0);
  }

  TEST_CASE("switches that show something else than was told are what somebody called for") {
    const tests::Folder folder;
    const Report told = tools::load_report(folder.write("sure.yaml", nothing_is_wrong)).call;
    std::vector<CallAnswer> answers(1);
    answers[0].answer = "no";
    answers[0].read = {{0, 21, 5, {}}};
    const Diagnosis read = diagnose(with_answers(told, answers), tests::shipped_catalogue());
    REQUIRE_FALSE(read.explanations.empty());
    CHECK(read.explanations.front().faults.empty());
    CHECK(read.explanations.front().probability > 0.9);
  }
}

}  // namespace
