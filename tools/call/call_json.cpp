#include "tools/call/call_json.h"

#include "tools/call/reply.h"

namespace drybus::tools {

namespace json = boost::json;

using model::CallState;

namespace {

json::value text_or_null(const std::string& text) {
  return text.empty() ? json::value(nullptr) : json::value(text);
}

json::value step_json(const CallState& state) {
  if (state.stage != CallState::Stage::cure) return nullptr;
  const model::GuidedStep& step = state.steps[state.step];
  return json::object{{"number", state.step + 1},
                      {"of", state.steps.size()},
                      {"text", step.told},
                      {"shows", text_or_null(step.shows)},
                      {"caution", text_or_null(step.caution)},
                      {"afresh", state.afresh}};
}

}  // namespace

std::string_view stage_word(CallState::Stage stage) {
  switch (stage) {
    case CallState::Stage::check:
      return "check";
    case CallState::Stage::cure:
      return "cure";
    case CallState::Stage::proof:
      return "proof";
    case CallState::Stage::proved:
      return "proved";
    case CallState::Stage::no_cure:
      return "no-cure";
  }
  return {};
}

json::object call_json(const CallFile& file, const CallState& state) {
  json::array explanations;
  for (const model::RankedExplanation& each : state.diagnosis.explanations)
    explanations.push_back({{"probability", each.probability}, {"text", each.text}});
  json::array choices;
  for (const Choice& choice : choices_of(state)) choices.push_back(json::value(choice.word));
  json::array reasons;
  for (const std::string& reason : state.reasons) reasons.push_back(json::value(reason));
  return {{"call", file.path()},
          {"stage", stage_word(state.stage)},
          {"question", state.question ? json::value(state.question->told) : json::value(nullptr)},
          {"caution", text_or_null(state.question ? state.question->caution : std::string{})},
          {"choices", std::move(choices)},
          {"explanations", std::move(explanations)},
          {"unexplained", state.diagnosis.unexplained},
          {"step", step_json(state)},
          {"reasons", std::move(reasons)},
          {"answers", file.report().answers.size()},
          {"proved", state.stage == CallState::Stage::proved}};
}

}  // namespace drybus::tools
