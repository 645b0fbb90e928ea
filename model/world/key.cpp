#include "model/world/key.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cstring>
#include <type_traits>

#include "model/site/device_logic.h"
#include "model/site/ticking.h"
#include "sim/key_parts.h"

namespace drybus::model {

namespace {

// Of these two all bytes are copied.
static_assert(sizeof(PlateState) == 16 && std::has_unique_object_representations_v<PlateState> &&
              sim::counts_whole<PlateState, sim::in_key>());
static_assert(sizeof(ModuleState) <= 64 && std::has_unique_object_representations_v<ModuleState> &&
              sim::counts_whole<ModuleState, sim::in_key>());

// What comes due, in one number; timers are their own.
constexpr std::uint8_t attempt_code = timer_count;
constexpr std::uint8_t end_code = timer_count + 1;
constexpr std::uint8_t person_code = timer_count + 2;
constexpr std::uint8_t contact_code = timer_count + 3;
constexpr std::uint8_t faded_code = timer_count + 4;
constexpr std::uint8_t settled_code = timer_count + 5;
constexpr std::uint8_t codes = timer_count + 6;

// The words of one device: of both kinds first its outer state and its node, then what is its own.
constexpr std::size_t shared_words = 4;
constexpr std::size_t least_plate_words = shared_words + 2;
constexpr std::size_t least_module_words = shared_words + 2 + 8;

/// What a firmware remembers comes after what every device has.
std::size_t words_of_firmware(const Site& site, bool plate) {
  return site.logic ? site.logic->bytes_per_device(plate) / 8 : 0;
}

std::uint8_t code_of(const sim::Event& event) {
  if (event.kind == sim::medium_attempt_event) return attempt_code;
  if (event.kind == sim::medium_end_event) return end_code;
  switch (static_cast<Happening>(event.kind)) {
    case Happening::timer:
      return static_cast<std::uint8_t>(event.arg);
    case Happening::person:
      return person_code;
    case Happening::contact:
      return contact_code;
    case Happening::faded:
      return faded_code;
    case Happening::settled:
      return settled_code;
  }
  return 0;
}

/// Whether an event is one module's own affair, so that it makes no difference to another's which comes first.
bool is_private(std::uint8_t code) {
  return code < timer_count || code == faded_code;
}

std::uint64_t mixed(std::uint64_t sum, std::uint64_t value) {
  sum = (sum ^ value) * 0x9e37'79b9'7f4a'7c15u;
  return sum ^ sum >> 29;
}

/// Writes the words of a state to `words` and returns where the next ones go.
template <sim::Described State>
std::uint64_t* put_state(const State& state, std::uint64_t* words) {
  sim::pack_words<sim::in_key>(state, [&](std::uint64_t word) { *words++ = word; });
  return words;
}

/// A site that is hunted was read from a file and has fewer than 65,535 nodes, so 16 bits of its groups tell them apart;
/// `dead` keeps all of them set.
sim::Medium::NodeState narrowed(sim::Medium::NodeState node) {
  node.component &= 0xffff;
  return node;
}

/// Whether a transmission that is over can still be sensed, or its sender still rests from it, or it has damaged another.
bool still_matters(const Scenario& scenario, const World& world, const sim::Medium::Transmission& sent) {
  const sim::Network& network = scenario.site.network;
  const sim::MediumTiming& timing = network.media[network.nodes[sent.node].medium].timing;
  if (!sent.ended || sent.end + std::max(timing.sense_delay, timing.gap) > world.now) return true;
  const auto& all = world.medium.on_the_medium();
  return std::any_of(all.begin(), all.end(),
                     [&](const auto& other) { return !other.ended && other.begin < sent.end; });
}

/// What the wiring tells of a module: on a line its electrical group, on radio whom it has links with.
std::vector<std::uint32_t> reach_of(const Scenario& scenario, const World& world, DeviceId device) {
  const sim::Network& network = scenario.site.network;
  const sim::Network::Node& node = network.nodes[device];
  std::vector<std::uint32_t> reach{node.medium};
  if (network.media[node.medium].kind == sim::MediumKind::line) {
    reach.push_back(world.medium.nodes()[device].component);
    return reach;
  }
  for (const std::uint32_t link : node.links) {
    const sim::Link& ends = network.links[link];
    const sim::NodeId other = ends.a == device ? ends.b : ends.a;
    const bool from_a_sender = scenario.site.is_plate(other);  // modules never send
    if (from_a_sender && world.medium.link_state(link) != sim::LinkState::open) reach.push_back(other);
  }
  std::sort(reach.begin(), reach.end());
  return reach;
}

bool alike_in(IntendedOf intended, const std::optional<Address>& one, const std::optional<Address>& other) {
  switch (intended) {
    case IntendedOf::nothing:
      return true;
    case IntendedOf::plate:
      return one.has_value() == other.has_value() &&
             (!one || (one->site == other->site && one->zone == other->zone));
    case IntendedOf::module:
      return one == other;
  }
  return false;
}

}  // namespace

Alike alike_modules(const Scenario& scenario, const World& world, IntendedOf intended,
                    std::span<const DeviceId> named) {
  const Site& site = scenario.site;
  Alike groups;
  if (site.logic && site.logic->bytes_per_device(false) != 0)
    return groups;  // a firmware's modules may send, and draw from streams of their own
  const auto& impaired = world.medium.impairments();
  const bool noisy = std::any_of(impaired.begin(), impaired.end(),
                                 [](const auto& link) { return link.state == sim::LinkState::noisy; });
  if (noisy) return groups;
  const auto like = [&](DeviceId a, DeviceId b) {
    const ModuleSpec& one = site.modules[site.module_index(a)];
    const ModuleSpec& other = site.modules[site.module_index(b)];
    return one.place == other.place && one.neighbour == other.neighbour &&
           alike_in(intended, one.intended, other.intended) &&
           reach_of(scenario, world, a) == reach_of(scenario, world, b);
  };
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const DeviceId module = site.module_id(i);
    if (std::find(named.begin(), named.end(), module) != named.end()) continue;
    if (site.module_family(module).ask > sim::Duration::zero()) continue;  // it sends, by a clock of its own
    const auto known =
        std::find_if(groups.begin(), groups.end(), [&](const auto& g) { return like(g[0], module); });
    if (known == groups.end()) {
      groups.push_back({module});
    } else {
      known->push_back(module);
    }
  }
  std::erase_if(groups, [](const auto& group) { return group.size() < 2; });
  return groups;
}

double arrangements(const Alike& alike) {
  double product = 1;
  for (const auto& group : alike) {
    for (std::size_t n = 2; n <= group.size(); ++n) product *= static_cast<double>(n);
  }
  return product;
}

WorldKey::WorldKey(const Scenario& scenario, const World& base, Alike alike)
    : scenario_(scenario),
      ticking_(ticking_of(scenario.site.logic.get())),
      alike_(std::move(alike)),
      plates_(scenario.site.plates.size()),
      plate_words_(least_plate_words + words_of_firmware(scenario.site, true)),
      module_words_(least_module_words + words_of_firmware(scenario.site, false)) {
  words_.resize(plates_ * plate_words_ + scenario.site.modules.size() * module_words_);
  for (DeviceId device = 0; device < scenario.site.device_count(); ++device) {
    ranks_.push_back(device);
    takes_.push_back(device);
  }
  sums_.resize(ranks_.size());
  gather_words(base);
  base_ = words_;
}

std::size_t WorldKey::word_of(DeviceId device) const {
  return device < plates_ ? device * plate_words_
                          : plates_ * plate_words_ + (device - plates_) * module_words_;
}

void WorldKey::write(const World& world, std::vector<std::byte>& key) {
  static_assert(sim::counts_just<World, sim::in_key>(&World::queue, &World::medium, &World::devices,
                                                     &World::plates, &World::modules, &World::loads,
                                                     &World::people, &World::firmware));
  gather_events(world);
  gather_words(world);
  if (!alike_.empty()) rank_alike(world);
  const std::size_t lists = world.medium.on_the_medium().size() + world.medium.waiting().size() +
                            world.medium.missed().size() + world.medium.impairments().size() +
                            world.people.size();
  buffer_.resize(std::max(buffer_.size(), 64 + words_.size() * 10 + events_.size() * 24 + lists * 48));
  end_ = buffer_.data();
  put_words(key);
  put_events(world);
  end_part(key);
  put_medium(world);
  put_people(world);
  end_part(key);
}

void WorldKey::end_part(std::vector<std::byte>& key) {
  sim::add_part(key, {buffer_.data(), end_});
  end_ = buffer_.data();
}

// --- gathering -------------------------------------------------------------------------------------------------

void WorldKey::gather_events(const World& world) {
  events_.clear();
  world.queue.for_each(
      [&](sim::Instant at, std::uint64_t order, const sim::Event& event, sim::EventQueue::Handle) {
        const Pending pending{at, order, event.arg, event.who, code_of(event)};
        if (ticking_ != nullptr && pending.code == static_cast<std::uint8_t>(Ticking::turn_timer) &&
            ticking_->ticks(scenario_.site, event.who)) {
          return;  // which turns need not be gone through says nothing of the situation
        }
        std::size_t place = events_.size();
        events_.push_back(pending);
        for (; place > 0; --place) {
          const Pending& before = events_[place - 1];
          if (before.at < at || (before.at == at && before.order < order)) break;
          events_[place] = before;
        }
        events_[place] = pending;
      });
}

void WorldKey::gather_words(const World& world) {
  for (DeviceId device = 0; device < world.devices.size(); ++device) gather_device(world, device);
}

void WorldKey::gather_device(const World& world, DeviceId device) {
  std::uint64_t* words = &words_[word_of(device)];
  [[maybe_unused]] const std::uint64_t* first = words;
  words = put_state(world.devices[device], words);
  words = put_state(narrowed(world.medium.nodes()[device]), words);
  assert(words == first + shared_words);
  if (device < plates_) {
    std::memcpy(words, &world.plates[device], sizeof(PlateState));
    return copy_firmware(world, device, device * (plate_words_ - least_plate_words),
                         plate_words_ - least_plate_words, words + 2);
  }
  const std::size_t index = device - plates_;
  const LoadState& load = world.loads[index];
  words = put_state(load, words);
  ModuleState state = world.modules[index];
  state.forget_what_is_over();
  words[7] = 0;
  std::memcpy(words, &state, sizeof state);
  const std::size_t count = module_words_ - least_module_words;
  copy_firmware(world, device, plates_ * (plate_words_ - least_plate_words) + index * count, count,
                words + 8);
}

/// Blocks lie in the world device by device, plates first, in whole words.
void WorldKey::copy_firmware(const World& world, DeviceId device, std::size_t from, std::size_t count,
                             std::uint64_t* words) const {
  if (count == 0) return;
  std::memcpy(words, world.firmware.data() + from * 8, count * 8);
  if (ticking_ != nullptr) ticking_->make_key(scenario_.site, world, device, {words, count});
}

// --- which of several like modules is which ----------------------------------------------------------------------

/// Puts like modules in the order of a sum over all that is theirs. That two different ones have the same sum does no harm:
/// they then count as different whichever way round they are.
void WorldKey::rank_alike(const World& world) {
  for (const auto& group : alike_) {
    for (const DeviceId module : group) {
      std::uint64_t sum = 0;
      const std::size_t first = word_of(module);
      for (std::size_t i = 0; i < module_words_; ++i) sum = mixed(sum, words_[first + i]);
      sums_[module] = sum;
    }
  }
  for (const Pending& pending : events_) {
    if (pending.code == person_code || pending.who >= sums_.size()) continue;
    std::uint64_t& sum = sums_[pending.who];
    sum = mixed(sum, static_cast<std::uint64_t>((pending.at - world.now).count()) << 4 | pending.code);
  }
  for (const auto& group : alike_) {
    order_.clear();
    for (const DeviceId module : group) order_.emplace_back(sums_[module], module);
    std::sort(order_.begin(), order_.end());
    for (std::size_t i = 0; i < group.size(); ++i) {
      ranks_[order_[i].second] = group[i];
      takes_[group[i]] = order_[i].second;
    }
  }
  settle_ties();
}

/// Among events of one instant that follow one another, those that are modules' private affairs go by rank: which of two
/// modules is served first makes no difference to either. Each module's own stay in their order.
void WorldKey::settle_ties() {
  const auto movable = [&](const Pending& p) { return is_private(p.code) && p.who >= plates_; };
  for (auto run = events_.begin(); run != events_.end();) {
    auto end = run + 1;
    if (movable(*run)) {
      while (end != events_.end() && end->at == run->at && movable(*end)) ++end;
      if (end - run > 1) {
        for (auto i = run + 1; i != end; ++i) {
          const Pending pending = *i;
          auto hole = i;
          for (; hole != run && ranks_[(hole - 1)->who] > ranks_[pending.who]; --hole) *hole = *(hole - 1);
          *hole = pending;
        }
      }
    }
    run = end;
  }
}

// --- writing ---------------------------------------------------------------------------------------------------

void WorldKey::put_number(std::uint64_t number) {
  while (number >= 0x80) {
    put_byte(static_cast<std::uint8_t>(0x80 | (number & 0x7f)));
    number >>= 7;
  }
  put_byte(static_cast<std::uint8_t>(number));
}

void WorldKey::put_signed(std::int64_t number) {
  put_number(static_cast<std::uint64_t>(number) << 1 ^ (number < 0 ? ~std::uint64_t{0} : 0));
}

/// Of each device which words differ from the base's, a bit each; then of each that does, how many bytes it takes and how
/// many that do not differ lie below them, and these.
void WorldKey::put_words(std::vector<std::byte>& key) {
  std::size_t place = 0;
  for (DeviceId rank = 0; rank < takes_.size(); ++rank) {
    const std::uint64_t* words = &words_[word_of(takes_[rank])];
    const std::size_t count = rank < plates_ ? plate_words_ : module_words_;
    std::byte* bits = end_;
    std::memset(bits, 0, (count + 7) / 8);
    end_ += (count + 7) / 8;
    for (std::size_t i = 0; i < count; ++i, ++place) put_word(words[i] ^ base_[place], bits, i);
    end_part(key);
  }
}

void WorldKey::put_word(std::uint64_t differs, std::byte* bits, std::size_t index) {
  if (differs == 0) return;
  bits[index / 8] |= static_cast<std::byte>(1u << index % 8);
  const auto skipped = static_cast<std::size_t>(std::countr_zero(differs)) / 8;
  const std::uint64_t rest = differs >> skipped * 8;
  const auto length = static_cast<std::size_t>(std::bit_width(rest) + 7) / 8;
  put_byte(static_cast<std::uint8_t>(length | skipped << 4));
  std::memcpy(end_, &rest, sizeof rest);
  end_ += length;
}

void WorldKey::put_events(const World& world) {
  put_number(events_.size());
  sim::Instant before = world.now;
  for (const Pending& pending : events_) {
    put_number(static_cast<std::uint64_t>((pending.at - before).count()));
    before = pending.at;
    const bool is_person = pending.code == person_code;
    const std::uint64_t who = is_person ? pending.who : rank(pending.who);
    put_number(who * codes + pending.code);
    if (pending.code == contact_code || pending.code == settled_code) put_number(pending.arg);
  }
}

void WorldKey::put_medium(const World& world) {
  using sim::Medium;
  static_assert(
      sim::counts_just<Medium::Waiting, sim::in_key>(&Medium::Waiting::node, &Medium::Waiting::frame));
  static_assert(sim::counts_just<Medium::Missed, sim::in_key>(
      &Medium::Missed::sender, &Medium::Missed::receiver, &Medium::Missed::loss));
  static_assert(sim::counts_just<Medium::Impairment, sim::in_key>(
      &Medium::Impairment::link, &Medium::Impairment::state, &Medium::Impairment::bit_error_ppb));
  const Medium& medium = world.medium;
  put_transmissions(world);
  put_number(medium.waiting().size());
  for (const sim::Medium::Waiting& waiting : medium.waiting()) {
    put_number(rank(waiting.node));
    std::memcpy(end_, &waiting.frame, sizeof waiting.frame);
    end_ += sizeof waiting.frame;
  }
  put_number(medium.missed().size());
  for (const sim::Medium::Missed& missed : medium.missed()) {
    put_number(rank(missed.sender));
    put_number(rank(missed.receiver));
    put_byte(static_cast<std::uint8_t>(missed.loss));
  }
  put_number(medium.impairments().size());
  for (const sim::Medium::Impairment& impairment : medium.impairments()) {
    put_number(impairment.link);
    put_byte(static_cast<std::uint8_t>(impairment.state));
    put_number(impairment.bit_error_ppb);
  }
}

void WorldKey::put_transmissions(const World& world) {
  using Sent = sim::Medium::Transmission;
  static_assert(
      sim::counts_just<Sent, sim::in_key>(&Sent::begin, &Sent::end, &Sent::node, &Sent::ended, &Sent::frame));
  const auto& all = world.medium.on_the_medium();
  const auto matters = [&](const sim::Medium::Transmission& sent) {
    return still_matters(scenario_, world, sent);
  };
  put_number(static_cast<std::uint64_t>(std::count_if(all.begin(), all.end(), matters)));
  for (const sim::Medium::Transmission& sent : all) {
    if (!matters(sent)) continue;
    put_number(rank(sent.node) * 2u + (sent.ended ? 1u : 0u));
    put_signed((world.now - sent.begin).count());
    put_signed((sent.end - world.now).count());
    if (sent.ended) continue;
    std::memcpy(end_, &sent.frame, sizeof sent.frame);
    end_ += sizeof sent.frame;
  }
}

/// The installer stands between two steps of theirs; the others may be anywhere.
void WorldKey::put_people(const World& world) {
  static_assert(sim::counts_just<PersonState, sim::in_key>(&PersonState::place, &PersonState::step,
                                                           &PersonState::phase, &PersonState::done));
  put_number(world.people[0].place);
  for (std::size_t i = 1; i < world.people.size(); ++i) {
    const PersonState& person = world.people[i];
    put_number(person.phase * 2u + person.done);
    if (person.done != 0) continue;
    put_number(person.place);
    put_number(person.step);
  }
  if (clock_matters(world)) put_number(static_cast<std::uint64_t>(world.now.time_since_epoch().count()));
}

bool WorldKey::clock_matters(const World& world) const {
  for (std::size_t i = 1; i < world.people.size(); ++i) {
    const auto& script = scenario_.people[i].script;
    for (std::size_t step = world.people[i].step; world.people[i].done == 0 && step < script.size(); ++step) {
      if (script[step].at) return true;
    }
  }
  return false;
}

}  // namespace drybus::model
