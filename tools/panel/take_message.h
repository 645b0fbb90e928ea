// What the page asks of the bench, by its name in a message. See PROTOCOL.md.
#pragma once

#include <boost/json.hpp>
#include <optional>
#include <string_view>

#include "tools/panel/bench.h"
#include "tools/panel/curtain.h"
#include "tools/panel/request.h"

namespace drybus::tools {

struct Answer {
  boost::json::value ref;  ///< null where nobody asked for an answer
  std::optional<Refused> refused;
  std::optional<boost::json::object> reply;  ///< for the asker: `saved` or `branch_view`
};

/// What it takes to ask for something.
enum class Right {
  none,     ///< whoever looks on may
  hands,    ///< what a person on site does
  leading,  ///< the clock, the branches, the stops, what is made faulty
};

/// Whether the bench knows the verb at all, and what it takes to ask for it.
bool is_bench_verb(std::string_view verb);
Right right_for(std::string_view verb);

/// Does what is asked for; what is told of it stays within the curtain. Whatever stands in the text: it never throws and never does harm.
Answer take_message(Bench& bench, std::string_view text, Curtain curtain = Curtain::open);

/// The same for a message that was read already; throws Refused.
std::optional<boost::json::object> do_request(Bench& bench, const Request& request, Curtain curtain);

/// `done` or `refused`; nothing where nobody wants to hear.
std::optional<boost::json::object> answer_json(const Answer& answer);

}  // namespace drybus::tools
