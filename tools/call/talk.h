// A guided repair as a conversation: questions and steps go to somebody on the telephone, their answers into the file.
#pragma once

#include <boost/json.hpp>
#include <string>

#include "model/call/guide.h"
#include "tools/call/call_file.h"
#include "tools/call/reply.h"
#include "tools/call/respondent.h"

namespace drybus::tools {

/// How a conversation ended.
enum class CallEnd {
  proved,   ///< everything is right
  paused,   ///< no more answers: it can be taken up again
  no_cure,  ///< nothing more can be asked or dictated
};

class Talk {
 public:
  Talk(CallFile& file, Respondent& respondent, model::Diagnose diagnose)
      : file_(file), respondent_(respondent), guide_(std::move(diagnose)) {}

  /// Asks and dictates until all is proved right, or there are no more answers. REQUIRES: the file has a report.
  CallEnd go_on();

  /// Where it stands, for programs. REQUIRES: go_on was called.
  [[nodiscard]] boost::json::object state_json() const;

 private:
  enum class Next { go_on, stop };

  void tell_explanations();
  Next ask_question();
  std::string mindful(const std::string& caution);
  Next dictate();
  Next take_answer(const std::string& asked);
  std::optional<std::string> ask_for(const std::string& question, const std::string& choices);
  std::optional<Sighting> take_more(std::string_view choice);
  std::optional<Sighting> take_switches(std::string_view choice);
  std::optional<Sighting> take_sight(std::string_view choice);
  Next take_back();

  [[nodiscard]] const model::Site& site() const { return file_.report().report.believed.site; }

  CallFile& file_;
  Respondent& respondent_;
  model::Guide guide_;
  model::CallState state_;
  std::string told_;      ///< the explanations, as they were told last
  std::string caution_;   ///< the last that was told in full
  bool stopped_ = false;  ///< there are no more answers
};

}  // namespace drybus::tools
