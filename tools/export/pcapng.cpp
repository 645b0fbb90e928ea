#include "tools/export/pcapng.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <concepts>
#include <span>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/utf8.h"
#include "tools/export/buses.h"
#include "tools/export/capture_format.h"
#include "tools/export/transmissions.h"

namespace drybus::tools {

using model::Scenario;

namespace {

/// Longer texts are cut: an option's length has 16 bits.
constexpr std::size_t longest_text = 4096;
/// Longer names are cut: their length has 16 bits, and no analyser shows more.
constexpr std::size_t longest_name = 255;
/// More names than these are counted instead.
constexpr std::size_t most_names = 6;

template <std::unsigned_integral Number>
void put_little(std::string& bytes, Number number) {
  for (std::size_t i = 0; i < sizeof(Number); ++i) bytes += static_cast<char>(number >> (8 * i) & 0xff);
}

template <std::unsigned_integral Number>
void put_big(std::string& bytes, Number number) {
  for (std::size_t i = sizeof(Number); i-- > 0;) bytes += static_cast<char>(number >> (8 * i) & 0xff);
}

void pad(std::string& bytes) {
  bytes.resize((bytes.size() + 3) / 4 * 4, '\0');
}

void put_option(std::string& body, std::uint16_t code, std::string_view value) {
  put_little(body, code);
  put_little(body, static_cast<std::uint16_t>(value.size()));
  body += value;
  pad(body);
}

void put_text(std::string& body, std::uint16_t code, std::string_view text) {
  const std::string plain = harmless(text);
  if (!plain.empty()) put_option(body, code, characters(plain, 0, longest_text));
}

void put_end_of_options(std::string& body) {
  put_option(body, capture::option_end, {});
}

void put_block(std::string& file, std::uint32_t type, const std::string& body) {
  const auto length = static_cast<std::uint32_t>(body.size() + capture::block_frame_size);
  put_little(file, type);
  put_little(file, length);
  file += body;
  put_little(file, length);
}

std::string short_name(const Scenario& scenario, sim::NodeId node) {
  std::string name = harmless(scenario.site.node_name(node));
  while (name.size() > longest_name) name = characters(name, 0, character_count(name) - 1);
  return name;
}

void put_section(std::string& file, const Scenario& scenario) {
  std::string body;
  put_little(body, capture::byte_order_magic);
  put_little(body, std::uint16_t{1});
  put_little(body, std::uint16_t{0});
  put_little(body, ~std::uint64_t{0});  // the section's length is left open
  put_text(body, capture::option_comment, scenario.title);
  put_text(body, capture::section_application, fmt::format("drybus {}", DRYBUS_VERSION));
  put_end_of_options(body);
  put_block(file, capture::section_block, body);
}

void put_interface(std::string& file, const Scenario& scenario, const Bus& bus) {
  const sim::MediumSpec& medium = scenario.site.network.media[bus.medium];
  std::string body;
  put_little(body, capture::link_type);
  put_little(body, std::uint16_t{0});
  put_little(body, std::uint32_t{0});  // no limit to a packet's size
  put_text(body, capture::interface_name, bus.name);
  put_text(body, capture::interface_description, medium.kind == sim::MediumKind::line ? "line" : "radio");
  std::string speed;
  put_little(speed, static_cast<std::uint64_t>(medium.timing.bit_rate));
  put_option(body, capture::interface_speed, speed);
  put_option(body, capture::interface_time_resolution,
             std::string(1, static_cast<char>(capture::time_resolution)));
  put_end_of_options(body);
  put_block(file, capture::interface_block, body);
}

/// One capture in the making.
class Writer {
 public:
  Writer(const Scenario& scenario, const sim::Record& record) : scenario_(scenario), record_(record) {}

  std::string write() {
    put_section(file_, scenario_);
    const std::vector<Bus> buses = buses_of(scenario_.site);
    interfaces_.resize(scenario_.site.network.media.size());
    for (std::size_t i = 0; i < buses.size(); ++i) {
      interfaces_[buses[i].medium] = static_cast<std::uint32_t>(i);
      put_interface(file_, scenario_, buses[i]);
    }
    for (const Transmission& transmission : transmissions(record_)) put_packet(transmission);
    return std::move(file_);
  }

 private:
  void put_packet(const Transmission& transmission) {
    const auto at = static_cast<std::uint64_t>(record_[transmission.sent].at.time_since_epoch().count());
    const std::string data = packet_data(transmission);
    std::string body;
    put_little(body, interfaces_[scenario_.site.network.nodes[transmission.sender].medium]);
    put_little(body, static_cast<std::uint32_t>(at >> 32));
    put_little(body, static_cast<std::uint32_t>(at & 0xffffffff));
    put_little(body, static_cast<std::uint32_t>(data.size()));
    put_little(body, static_cast<std::uint32_t>(data.size()));
    body += data;
    pad(body);
    put_text(body, capture::option_comment, in_words(transmission));
    for (const sim::EntryId lost : transmission.lost) put_lost(body, record_[lost]);
    put_end_of_options(body);
    put_block(file_, capture::packet_block, body);
  }

  [[nodiscard]] std::string packet_data(const Transmission& transmission) const {
    const std::string name = short_name(scenario_, transmission.sender);
    const sim::Frame frame = model::encode(transmission.telegram);
    std::string data;
    put_big(data, capture::header_version);
    put_big(data, flags(transmission));
    put_big(data, static_cast<std::uint16_t>(transmission.sender));
    put_big(data, std::uint16_t{frame.size});
    put_big(data, static_cast<std::uint16_t>(name.size()));
    data += name;
    for (const std::uint8_t byte : std::span{frame.bytes}.first(frame.size)) data += static_cast<char>(byte);
    return data;
  }

  [[nodiscard]] std::uint8_t flags(const Transmission& transmission) const {
    const bool collided = std::any_of(
        transmission.lost.begin(), transmission.lost.end(),
        [&](sim::EntryId lost) { return model::why_lost(record_[lost]) == sim::Loss::collision; });
    return static_cast<std::uint8_t>((collided ? capture::flag_collided : 0) |
                                     (transmission.cut_short ? capture::flag_cut_short : 0) |
                                     (transmission.ended == sim::no_entry ? capture::flag_unfinished : 0));
  }

  void put_lost(std::string& body, const sim::Entry& lost) const {
    std::string value;
    put_little(value, capture::enterprise);
    put_big(value, static_cast<std::uint8_t>(model::why_lost(lost)));
    put_big(value, static_cast<std::uint16_t>(lost.who));
    value += short_name(scenario_, lost.who);
    put_option(body, capture::option_custom_binary, value);
  }

  [[nodiscard]] std::string in_words(const Transmission& transmission) const {
    const sim::EntryId told = transmission.ended == sim::no_entry ? transmission.sent : transmission.ended;
    std::string text = describe(scenario_, record_[told]);
    if (transmission.ended == sim::no_entry) return text + "; the run ended first";
    if (transmission.cut_short) return text;
    text += transmission.heard.empty() ? "; heard by nobody" : "; heard by " + names(transmission.heard);
    for (const sim::EntryId heard : transmission.heard) {
      // Bit errors that the CRC lets pass.
      if (record_[heard].b != record_[transmission.sent].b)
        text += "; " + describe(scenario_, record_[heard]);
    }
    if (transmission.lost.size() > most_names) return text + "; missed by " + names(transmission.lost);
    for (const sim::EntryId lost : transmission.lost) text += "; " + describe(scenario_, record_[lost]);
    return text;
  }

  [[nodiscard]] std::string names(std::span<const sim::EntryId> entries) const {
    if (entries.size() > most_names) return fmt::format("{} devices", entries.size());
    std::vector<std::string> names;
    for (const sim::EntryId entry : entries) names.push_back(scenario_.site.node_name(record_[entry].who));
    return fmt::format("{}", fmt::join(names, ", "));
  }

  const Scenario& scenario_;
  const sim::Record& record_;
  std::vector<std::uint32_t> interfaces_;  ///< by medium
  std::string file_;
};

}  // namespace

std::string pcapng(const Scenario& scenario, const sim::Record& record) {
  const model::Speaking english{nullptr};  // a file is the same in every language
  return Writer{scenario, record}.write();
}

}  // namespace drybus::tools
