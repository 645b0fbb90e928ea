#include "tools/panel/reporter.h"

#include <algorithm>

#include "tools/panel/state_json.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {

/// More lines or telegrams than these in one message are more than anyone can see go by.
constexpr std::size_t most_lines = 300;
constexpr std::size_t most_telegrams = 40;

std::vector<json::object> devices_of(const Branch& branch, Curtain curtain,
                                     const std::vector<model::DeviceId>& looked_at) {
  std::vector<json::object> devices;
  devices.reserve(looked_at.size());
  for (const model::DeviceId device : looked_at) devices.push_back(device_json(branch, device, curtain));
  return devices;
}

/// Without what goes on with time alone: nobody needs telling of that.
json::value lasting(json::array branches) {
  for (json::value& branch : branches) {
    branch.get_object().erase("now_s");
    branch.get_object().erase("reached_s");
  }
  return branches;
}

bool alike(const std::vector<model::Observation>& a, const std::vector<model::Observation>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](const auto& one, const auto& other) {
    return one.id == other.id && one.at == other.at && one.until == other.until &&
           one.devices == other.devices && one.evidence == other.evidence;
  });
}

/// Replaces what was told and puts it into the message, where it is different.
void tell_if_new(json::value now, json::value& told, std::string_view key, json::object& changed) {
  if (now == told) return;
  told = std::move(now);
  changed[key] = told;
}

}  // namespace

Reporter::Reporter(const Bench& bench, Curtain curtain, Looks looks)
    : curtain_(curtain), looks_(std::move(looks)) {
  take_for_told(bench);
}

void Reporter::look_at(const Bench& bench, Looks looks) {
  looks_ = std::move(looks);
  looked_at_ = looks_.devices(bench.run().scenario().site);
  devices_ = devices_of(bench.run(), curtain_, looked_at_);
  links_ = links_json(bench.run(), curtain_, looks_);
}

void Reporter::take_for_told(const Bench& bench) {
  const Branch& run = bench.run();
  jumps_ = bench.jumps();
  branch_ = bench.chosen().id;
  rewritings_ = run.rewritings();
  events_ = run.events();
  steps_ = run.steps().size();
  told_entries_ = run.known().size();
  lookouts_.reset();
  if (curtain_ == Curtain::drawn) lookouts_.emplace(run.scenario()).take_in(run.known());
  looked_at_ = looks_.devices(run.scenario().site);
  devices_ = devices_of(run, curtain_, looked_at_);
  people_ = people_json(bench.chosen());
  links_ = links_json(run, curtain_, looks_);
  branches_ = lasting(branches_json(bench, curtain_));
  pause_ = pause_json(bench);
  observations_ = told_observations(bench, bench.chosen(), curtain_);
  unfinished_.clear();
  for (sim::EntryId id = 1; id <= told_entries_; ++id) {
    if (is_unfinished(bench.chosen(), run.known()[id])) unfinished_.insert(id);
  }
  telegrams_.clear();
  for (const SeenTelegram& telegram : run.onlooker().telegrams())
    telegrams_[telegram.sent] = telegram.changes;
  playing_ = bench.playing();
  speed_ = bench.speed();
}

bool Reporter::stands_elsewhere(const Bench& bench) const {
  return jumps_ != bench.jumps() || branch_ != bench.chosen().id || rewritings_ != bench.run().rewritings();
}

std::optional<json::object> Reporter::what_changed(const Bench& bench, Curtain curtain) {
  if (stands_elsewhere(bench) || curtain_ != curtain) {
    curtain_ = curtain;
    take_for_told(bench);
    return state_json(bench, curtain, looks_);
  }
  json::object changed;
  if (events_ != bench.run().events() || steps_ != bench.run().steps().size() || !unfinished_.empty()) {
    events_ = bench.run().events();
    steps_ = bench.run().steps().size();
    add_devices(bench, changed);
    add_rest_of_site(bench, changed);
    add_lines(bench, changed);
    add_telegrams(bench, changed);
  }
  add_findings(bench, changed);
  add_branches(bench, changed);
  add_clock(bench, changed);
  if (changed.empty()) return std::nullopt;
  changed["type"] = "changed";
  changed["clock"] = clock_json(bench, curtain_);
  return changed;
}

void Reporter::add_devices(const Bench& bench, json::object& changed) {
  json::object different;
  for (std::size_t i = 0; i < devices_.size(); ++i) {
    const model::DeviceId device = looked_at_[i];
    json::object now = device_json(bench.run(), device, curtain_);
    if (now == devices_[i]) continue;
    devices_[i] = std::move(now);
    different[bench.run().scenario().site.name(device)] = devices_[i];
  }
  if (!different.empty()) changed["devices"] = std::move(different);
}

void Reporter::add_rest_of_site(const Bench& bench, json::object& changed) {
  tell_if_new(people_json(bench.chosen()), people_, "people", changed);
  tell_if_new(links_json(bench.run(), curtain_, looks_), links_, "links", changed);
}

void Reporter::add_findings(const Bench& bench, json::object& changed) {
  std::vector<model::Observation> now = told_observations(bench, bench.chosen(), curtain_);
  if (alike(now, observations_)) return;
  observations_ = std::move(now);
  changed["findings"] = findings_json(bench.run(), observations_, looks_);
}

/// Whether the entry makes a line of the timeline, as far as the curtain lets it.
bool Reporter::tells(const Bench& bench, sim::EntryId id) const {
  const sim::Record& record = bench.run().record();
  return is_told(record[id]) && is_looked_at(bench.run().scenario(), record[id], looks_) &&
         (!lookouts_ || is_seen(bench.run().scenario(), *lookouts_, record, id));
}

void Reporter::add_lines(const Bench& bench, json::object& changed) {
  const sim::Record& record = bench.run().record();
  if (lookouts_) lookouts_->take_in(record);
  std::vector<sim::EntryId> lines;
  std::erase_if(unfinished_, [&](sim::EntryId id) {
    const bool finished = id <= record.size() && !is_unfinished(bench.chosen(), record[id]);
    if (finished) lines.push_back(id);
    return finished;
  });
  for (; told_entries_ < record.size(); ++told_entries_) {
    const auto id = static_cast<sim::EntryId>(told_entries_ + 1);
    if (tells(bench, id)) lines.push_back(id);
    if (is_unfinished(bench.chosen(), record[id])) unfinished_.insert(id);
  }
  if (lines.empty()) return;
  const std::size_t skipped = lines.size() - std::min(lines.size(), most_lines);
  json::array told;
  for (std::size_t i = skipped; i < lines.size(); ++i) told.push_back(line_json(bench.chosen(), lines[i]));
  changed["timeline"] = std::move(told);
  changed["timeline_skipped"] = skipped;
}

void Reporter::add_telegrams(const Bench& bench, json::object& changed) {
  if (curtain_ == Curtain::drawn) return;
  std::map<sim::EntryId, std::uint32_t> now;
  std::vector<const SeenTelegram*> different;
  for (const SeenTelegram& telegram : bench.run().onlooker().telegrams()) {
    now[telegram.sent] = telegram.changes;
    const auto told = telegrams_.find(telegram.sent);
    if (told == telegrams_.end() || told->second != telegram.changes) different.push_back(&telegram);
  }
  telegrams_ = std::move(now);
  if (different.empty()) return;
  const std::size_t skipped = different.size() - std::min(different.size(), most_telegrams);
  json::array told;
  for (std::size_t i = skipped; i < different.size(); ++i)
    told.push_back(telegram_json(bench.run(), *different[i], looks_));
  changed["telegrams"] = std::move(told);
  changed["telegrams_skipped"] = skipped;
}

void Reporter::add_branches(const Bench& bench, json::object& changed) {
  json::array now = branches_json(bench, curtain_);
  json::value compared = lasting(now);
  if (compared == branches_) return;
  branches_ = std::move(compared);
  changed["branches"] = std::move(now);
}

void Reporter::add_clock(const Bench& bench, json::object& changed) {
  tell_if_new(pause_json(bench), pause_, "pause", changed);
  if (playing_ == bench.playing() && speed_ == bench.speed()) return;
  playing_ = bench.playing();
  speed_ = bench.speed();
  changed["clock"] = nullptr;  // filled in by the caller, as always
}

}  // namespace drybus::tools
