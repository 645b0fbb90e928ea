// A lesson at the bench: the panel for one pupil, and the questions. Knows no socket and no browser.
#pragma once

#include <string>
#include <string_view>

#include "model/lesson/pupil.h"
#include "tools/panel/panel.h"
#include "tools/script/lesson.h"

namespace drybus::tools {

class ClassRoom {
 public:
  explicit ClassRoom(LoadedLesson loaded);

  /// A message of the page to the bench, as tools/panel/PROTOCOL.md has it.
  void receive(std::string_view text, RealTime real) { panel_.receive(pupil_id_, text, real); }
  void at_real(RealTime real) { panel_.at_real(real); }
  /// What the bench has to say since the last call: a JSON list of messages.
  [[nodiscard]] std::string take_messages();

  /// What the page asks about the lesson, and the answer, both JSON:
  ///   {"do": "question"}                      the one that is asked, or how it went when the lesson is over
  ///   {"do": "answer", "text": "M1"}          an answer in words
  ///   {"do": "judge"}                         what was done at the bench is the answer (press it yourself)
  ///   {"do": "hint"}
  /// The answer has "verdict" (right, again, told), "complaint" where it was not understood, "hint", and "question" as it is then.
  [[nodiscard]] std::string about_lesson(std::string_view text);

  /// The digest of a whole run of the story, as `drybus run` tells it.
  [[nodiscard]] std::string digest() const;

 private:
  [[nodiscard]] boost::json::object question_json() const;
  [[nodiscard]] boost::json::object answer_in_words(const std::string& text);
  [[nodiscard]] boost::json::object judge_bench();
  [[nodiscard]] boost::json::object verdict_json(std::size_t question, model::Verdict verdict) const;

  LoadedLesson loaded_;
  Panel panel_;
  ViewerId pupil_id_;
  model::Pupil pupil_;
};

}  // namespace drybus::tools
