#include "tools/cluster/mpi/manager.h"

#include <fmt/format.h>

#include <algorithm>
#include <thread>

#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::tr;

namespace {

using namespace std::chrono_literals;

void say(const std::string& what) {
  print_err(fmt::format("drybus-mpi: {}\n", what));
}

}  // namespace

Manager::Manager(Wire& wire, std::chrono::milliseconds patience, std::string build)
    : wire_(wire),
      patience_(patience),
      build_(std::move(build)),
      ledger_(wire.size()),
      at_stage_(wire.size(), false),
      unfit_(wire.size(), false),
      assembly_(wire.size()),
      gone_(wire.size(), false) {}

void Manager::do_all(const Pieces& pieces) {
  ++stage_;
  ledger_.begin(pieces.count);
  std::fill(at_stage_.begin(), at_stage_.end(), false);
  std::fill(assembly_.begin(), assembly_.end(), Assembly{});
  const std::size_t threads = std::max<std::size_t>(1, pieces.jobs);
  Crew crew{threads, pieces.work};
  while (!ledger_.is_done()) {
    bool something = hear(pieces);
    something |= take_own(crew, pieces);
    something |= hand_out(crew, threads);
    look_for_lost();
    tell_progress(pieces);
    if (!something) std::this_thread::sleep_for(1ms);
  }
  for (std::size_t rank = 1; rank < wire_.size(); ++rank) {
    if (at_stage_[rank] && !ledger_.is_lost(rank)) wire_.send(rank, {.said = Said::next, .stage = stage_});
  }
}

bool Manager::hear(const Pieces& pieces) {
  const auto received = wire_.receive();
  if (!received) return false;
  const auto& [from, message] = *received;
  if (message.said == Said::here) hear_here(from, message);
  if (message.said == Said::answer) hear_answer(from, message, pieces);
  if (message.said == Said::failed) hear_failed(from, message);
  return true;
}

void Manager::hear_here(std::size_t from, const Message& message) {
  wire_.send(from, {.said = Said::heard});
  if (unfit_[from]) return;
  if (message.text != build_) {
    say(tr("rank {} is another build ({}); this is {}. It takes no part.", from, message.text, build_));
    unfit_[from] = true;
    ledger_.lose(from);
    return;
  }
  if (ledger_.heard(from, Clock::now())) say(tr("rank {} is back", from));
  if (message.stage < stage_ && message.stage > 0)
    wire_.send(from, {.said = Said::next, .stage = message.stage});
  if (message.stage == stage_) at_stage_[from] = true;
}

void Manager::hear_answer(std::size_t from, const Message& message, const Pieces& pieces) {
  if (message.stage != stage_) return;
  ledger_.heard(from, Clock::now());
  const auto whole = assembly_[from].add(message);
  if (!whole) return;
  if (ledger_.take(from, message.number)) pieces.take(message.number, *whole);
}

void Manager::hear_failed(std::size_t from, const Message& message) {
  if (message.number != whole_job) throw Unusable{message.text};
  if (unfit_[from]) return;
  say(tr("rank {} cannot take part: {}", from, message.text));
  unfit_[from] = true;
  ledger_.lose(from);
}

bool Manager::take_own(Crew& crew, const Pieces& pieces) {
  const auto done = crew.next();
  if (!done) return false;
  if (done->error) std::rethrow_exception(done->error);
  if (ledger_.take(0, done->piece)) pieces.take(done->piece, done->answer);
  return true;
}

/// One piece for each thread, and one that waits, so that nobody waits for the next.
bool Manager::hand_out(Crew& crew, std::size_t threads) {
  bool something = false;
  for (std::size_t rank = 0; rank < wire_.size(); ++rank) {
    if (rank != 0 && (!at_stage_[rank] || unfit_[rank])) continue;
    while (ledger_.has(rank) < threads + (rank == 0 ? 0 : 1)) {
      const auto piece = ledger_.hand_to(rank);
      if (!piece) break;
      something = true;
      if (rank == 0) {
        crew.give(*piece);
      } else {
        wire_.send(rank, {.said = Said::piece, .stage = stage_, .number = *piece});
      }
    }
  }
  return something;
}

void Manager::look_for_lost() {
  for (const std::size_t rank : ledger_.look_for_lost(Clock::now(), patience_)) {
    say(tr("rank {} was not heard of for {} ms: what it has is done again", rank, patience_.count()));
  }
}

/// A line now and then: a terminal that could show more is far away.
void Manager::tell_progress(const Pieces& pieces) {
  const auto now = Clock::now();
  if (now - told_progress_ < 10s) return;
  told_progress_ = now;
  std::size_t here = 1;
  for (std::size_t rank = 1; rank < wire_.size(); ++rank)
    if (at_stage_[rank] && !ledger_.is_lost(rank)) ++here;
  say(tr("{} of {} pieces are done, by {} of {} ranks", pieces.count - ledger_.left(), pieces.count, here,
         wire_.size()));
}

/// Whether somebody who is there has not said good-bye yet.
bool Manager::waits_for_somebody() const {
  for (std::size_t rank = 1; rank < wire_.size(); ++rank) {
    const bool is_there = !ledger_.is_lost(rank) || unfit_[rank];
    if (is_there && !gone_[rank]) return true;
  }
  return false;
}

void Manager::tell(const Message& message) {
  for (std::size_t rank = 1; rank < wire_.size(); ++rank) {
    if (!ledger_.is_lost(rank) || unfit_[rank] || gone_[rank]) wire_.send(rank, message);
  }
}

bool Manager::end() {
  const auto waits_until = Clock::now() + patience_;
  tell({.said = Said::over});
  while (waits_for_somebody() && Clock::now() < waits_until) {
    const auto received = wire_.receive();
    if (!received) {
      std::this_thread::sleep_for(1ms);
    } else if (received->message.said == Said::bye) {
      gone_[received->from] = true;
    } else if (received->message.said == Said::here && ledger_.is_lost(received->from)) {
      wire_.send(received->from, {.said = Said::over});
    }
  }
  for (std::size_t rank = 1; rank < wire_.size(); ++rank) {
    if (!gone_[rank] && !ledger_.is_lost(rank))
      say(tr("rank {} was not heard of when the job was over", rank));
  }
  const auto missing =
      wire_.size() - 1 - static_cast<std::size_t>(std::count(gone_.begin(), gone_.end(), true));
  tell({.said = Said::part, .number = missing});
  return missing == 0;
}

}  // namespace drybus::tools
