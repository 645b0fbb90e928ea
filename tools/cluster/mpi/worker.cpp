#include "tools/cluster/mpi/worker.h"

#include <unistd.h>

#include <thread>

#include "tools/base/reason.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace {

using namespace std::chrono_literals;

constexpr auto says_here_every = 500ms;
/// A manager that is gone never comes back.
constexpr auto patience_with_manager = 30s;
constexpr std::size_t manager = 0;

}  // namespace

Worker::Worker(Wire& wire, std::string build) : wire_(wire), build_(std::move(build)) {}

void Worker::keep_in_touch() {
  const auto now = Clock::now();
  if (now - heard_ > patience_with_manager) _exit(exit_failed);  // nobody is left who could be told
  if (now - said_ < says_here_every) return;
  said_ = now;
  wire_.send(manager, {.said = Said::here, .stage = stage_, .text = build_});
}

bool Worker::send_done(Crew& crew) {
  const auto done = crew.next();
  if (!done) return false;
  if (done->error) {
    try {
      std::rethrow_exception(done->error);
    } catch (const std::exception& error) {
      wire_.send(manager, {.said = Said::failed,
                           .stage = stage_,
                           .number = done->piece,
                           .text = reason_of(error).substr(0, most_text)});
    }
    return true;
  }
  for (const Message& part :
       in_parts({.said = Said::answer, .stage = stage_, .number = done->piece}, done->answer))
    wire_.send(manager, part);
  return true;
}

void Worker::do_all(const Pieces& pieces) {
  ++stage_;
  said_ = {};
  Crew crew{pieces.jobs, pieces.work};
  while (true) {
    keep_in_touch();
    const bool sent = send_done(crew);
    const auto received = wire_.receive();
    if (received) {
      heard_ = Clock::now();
      const Message& message = received->message;
      if (message.said == Said::piece && message.stage == stage_) crew.give(message.number);
      if (message.said == Said::next && message.stage == stage_) return;
      if (message.said == Said::over) {
        over_ = true;
        throw Dismissed{};
      }
    }
    if (!sent && !received) std::this_thread::sleep_for(1ms);
  }
}

void Worker::refuse(const std::string& why) {
  wire_.send(manager, {.said = Said::failed, .number = whole_job, .text = why.substr(0, most_text)});
}

bool Worker::end() {
  stage_ = ~std::uint32_t{0};  // beyond every stage
  while (true) {
    if (over_) {
      wire_.send(manager, {.said = Said::bye});
      over_ = false;
    }
    keep_in_touch();
    const auto received = wire_.receive();
    if (!received) {
      std::this_thread::sleep_for(1ms);
      continue;
    }
    heard_ = Clock::now();
    over_ = received->message.said == Said::over;
    if (received->message.said == Said::part) return received->message.number == 0;
  }
}

}  // namespace drybus::tools
