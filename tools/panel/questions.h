// The questions of a lesson at one bench: which one is asked, the pupil's answers, what is told then. Knows no socket.
#pragma once

#include <boost/json.hpp>
#include <memory>
#include <string>

#include "model/lesson/pupil.h"
#include "tools/panel/bench.h"
#include "tools/panel/request.h"
#include "tools/script/lesson.h"

namespace drybus::tools {

class Questions {
 public:
  explicit Questions(std::shared_ptr<const LoadedLesson> loaded) : loaded_(std::move(loaded)) {}

  [[nodiscard]] const LoadedLesson& loaded() const { return *loaded_; }
  [[nodiscard]] const model::Pupil& pupil() const { return pupil_; }
  [[nodiscard]] bool over() const { return pupil_.question() == loaded_->lesson.questions.size(); }
  /// Where the story stands while the question is asked; it goes no further until then.
  [[nodiscard]] std::optional<sim::Instant> stop() const;

  /// What the page says about the lesson, and the answer:
  ///   {"ask": "question"}                      the one that is asked, or how it went when the lesson is over
  ///   {"ask": "answer", "text": "M1"}          an answer in words
  ///   {"ask": "judge"}                         what was done at the bench is the answer (press it yourself)
  ///   {"ask": "hint"}
  /// The answer has "verdict" (right, again, told), "complaint" where it was not understood or came out of turn, "hint", and
  /// "question" as it is then.
  boost::json::object tell(std::string_view ask, const std::string& text, const Bench& bench);

  /// Goes on as it was kept. REQUIRES: no more marks than there are questions.
  void resume(model::Pupil pupil) { pupil_ = std::move(pupil); }

 private:
  [[nodiscard]] boost::json::object question_json() const;
  [[nodiscard]] boost::json::object answer_in_words(const std::string& text);
  [[nodiscard]] boost::json::object judge(const Bench& bench);
  [[nodiscard]] boost::json::object hint();
  [[nodiscard]] boost::json::object verdict_json(std::size_t question, model::Verdict verdict) const;

  std::shared_ptr<const LoadedLesson> loaded_;
  model::Pupil pupil_;
};

/// A pupil's answers so far, to be kept, and back. Throws std::exception for what is none.
boost::json::object pupil_json(const model::Pupil& pupil);
model::Pupil pupil_from(const boost::json::value& value, std::size_t questions);

}  // namespace drybus::tools
