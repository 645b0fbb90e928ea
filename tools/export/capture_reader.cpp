#include "tools/export/capture_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <concepts>
#include <limits>

#include "model/words/words.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/export/capture_format.h"
#include "tools/script/files.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

/// A stretch of the file that is read from its front. Nothing is ever read beyond it.
class Bytes {
 public:
  enum class Order { little, big };

  Bytes(std::string_view file, std::string_view bytes, std::size_t offset)
      : file_(file), bytes_(bytes), offset_(offset) {}

  [[nodiscard]] std::size_t left() const { return bytes_.size(); }
  [[nodiscard]] std::size_t offset() const { return offset_; }
  void set_order(Order order) { order_ = order; }
  [[nodiscard]] Order order() const { return order_; }

  [[noreturn]] void fail(std::string_view why) const {
    throw Unusable{tr("{}: byte {}: {}", file_, offset_, why)};
  }

  /// Takes `length` bytes off the front, as a stretch of their own.
  Bytes take(std::size_t length, std::string_view what) {
    if (length > bytes_.size()) fail(tr("{} is cut off", in_words_spoken(what)));
    Bytes taken{file_, bytes_.substr(0, length), offset_};
    taken.order_ = order_;
    bytes_.remove_prefix(length);
    offset_ += length;
    return taken;
  }

  template <std::unsigned_integral Number>
  Number number(std::string_view what) {
    return take(sizeof(Number), what).value<Number>(order_);
  }

  template <std::unsigned_integral Number>
  Number big(std::string_view what) {
    return take(sizeof(Number), what).value<Number>(Order::big);
  }

  [[nodiscard]] std::string_view raw() const { return bytes_; }
  [[nodiscard]] std::string text() const { return harmless(bytes_); }

 private:
  template <std::unsigned_integral Number>
  [[nodiscard]] Number value(Order order) const {
    std::uint64_t result = 0;
    for (std::size_t i = 0; i < sizeof(Number); ++i) {
      const std::size_t at = order == Order::big ? i : sizeof(Number) - 1 - i;
      result = result << 8 | static_cast<std::uint8_t>(bytes_[at]);
    }
    return static_cast<Number>(result);
  }

  std::string_view file_;
  std::string_view bytes_;
  std::size_t offset_;
  Order order_ = Order::little;
};

/// More interfaces than any site has buses.
constexpr std::size_t most_buses = 4096;

struct Option {
  std::uint16_t code = capture::option_end;
  Bytes value;
};

std::size_t padded(std::size_t length) {
  return (length + 3) / 4 * 4;
}

/// The options at the end of a block; `visit` is called with each.
template <class Visit>
void read_options(Bytes& block, Visit visit) {
  while (block.left() != 0) {
    const auto code = block.number<std::uint16_t>(msg("an option"));
    const auto length = block.number<std::uint16_t>(msg("an option"));
    if (code == capture::option_end) return;
    Bytes value = block.take(padded(length), msg("an option"));
    visit(Option{code, value.take(length, msg("an option"))});
  }
}

struct Interface {
  std::uint16_t link_type = 0;
  std::uint64_t ticks_per_second = 1'000'000;  ///< as the format has it when nothing is said
  std::size_t bus = 0;
};

class CaptureParser {
 public:
  CaptureParser(std::string_view name, std::string_view bytes) : file_(name, bytes, 0) {}

  Capture parse() {
    bool section = false;
    while (file_.left() != 0) {
      read_block(section);
      section = true;
    }
    if (!section) file_.fail(tr("the file is empty"));
    return std::move(capture_);
  }

 private:
  void read_block(bool section) {
    Bytes start = file_;
    const auto type = file_.number<std::uint32_t>(msg("a block"));
    if (type == capture::section_block) {
      find_byte_order();
    } else if (!section) {
      start.fail(tr("this is no pcapng file"));
    }
    const auto length = file_.number<std::uint32_t>(msg("a block"));
    if (length < capture::block_frame_size || length % 4 != 0) start.fail(tr("a block of {} bytes", length));
    Bytes body = file_.take(length - capture::block_frame_size, msg("a block"));
    if (file_.number<std::uint32_t>(msg("a block")) != length) start.fail(tr("a block's two lengths differ"));
    if (type == capture::section_block) return read_section(body);
    if (type == capture::interface_block) return read_interface(body);
    if (type == capture::packet_block) return read_packet(body);
  }

  /// A section's own byte-order mark comes after its length: looked at ahead of its turn.
  void find_byte_order() {
    Bytes ahead = file_;
    ahead.take(4, msg("a section's header"));
    const auto magic = ahead.big<std::uint32_t>(msg("a section's header"));
    if (magic == capture::byte_order_magic) return file_.set_order(Bytes::Order::big);
    if (magic != __builtin_bswap32(capture::byte_order_magic))
      ahead.fail(tr("no byte-order mark; this is no pcapng file"));
    file_.set_order(Bytes::Order::little);
  }

  void read_section(Bytes& body) {
    interfaces_.clear();
    body.take(4, msg("a section's header"));
    const auto major = body.number<std::uint16_t>(msg("a section's header"));
    if (major != 1) body.fail(tr("version {} of the pcapng format is not known", major));
  }

  void read_interface(Bytes& body) {
    Interface interface;
    CapturedBus bus;
    interface.link_type = body.number<std::uint16_t>(msg("an interface"));
    body.take(6, msg("an interface"));
    read_options(body, [&](Option option) {
      if (option.code == capture::interface_name) bus.name = option.value.text();
      if (option.code == capture::interface_speed)
        bus.bit_rate = option.value.number<std::uint64_t>(msg("a speed"));
      if (option.code == capture::interface_time_resolution) interface.ticks_per_second = ticks(option.value);
      if (option.code == capture::interface_time_offset &&
          option.value.number<std::uint64_t>(msg("an offset")) != 0) {
        option.value.fail(tr("times with an offset are not understood"));
      }
    });
    interface.bus = bus_index(bus, body);
    interfaces_.push_back(interface);
  }

  /// Sections that describe the same bus again mean the same bus.
  std::size_t bus_index(const CapturedBus& bus, const Bytes& body) {
    const auto known = std::find(capture_.buses.begin(), capture_.buses.end(), bus);
    if (known != capture_.buses.end()) return static_cast<std::size_t>(known - capture_.buses.begin());
    if (capture_.buses.size() == most_buses) body.fail(tr("more than {} interfaces", most_buses));
    capture_.buses.push_back(bus);
    return capture_.buses.size() - 1;
  }

  static std::uint64_t ticks(Bytes& value) {
    const auto resolution = value.number<std::uint8_t>(msg("a time resolution"));
    if (resolution > 9) value.fail(tr("a time resolution of {} is not understood", resolution));
    std::uint64_t ticks = 1;
    for (int i = 0; i < resolution; ++i) ticks *= 10;
    return ticks;
  }

  void read_packet(Bytes& body) {
    const auto index = body.number<std::uint32_t>(msg("a packet"));
    if (index >= interfaces_.size()) body.fail(tr("a packet of interface {}, which is not described", index));
    const Interface& interface = interfaces_[index];
    if (interface.link_type != capture::link_type) {
      body.fail(tr("a packet of link type {}; captures of drybus have {}", interface.link_type,
                   capture::link_type));
    }
    CapturedTelegram telegram;
    telegram.bus = interface.bus;
    telegram.at = time(body, interface);
    const auto length = body.number<std::uint32_t>(msg("a packet"));
    if (body.number<std::uint32_t>(msg("a packet")) != length) body.fail(tr("a packet that is not whole"));
    Bytes data = body.take(length, msg("a packet"));
    body.take(padded(length) - length, msg("a packet"));
    read_telegram(data, telegram);
    read_options(body, [&](Option option) {
      if (option.code == capture::option_comment) telegram.comment = option.value.text();
      if (option.code == capture::option_custom_binary) read_loss(option.value, telegram);
    });
    capture_.telegrams.push_back(std::move(telegram));
  }

  static sim::Instant time(Bytes& body, const Interface& interface) {
    const auto high = body.number<std::uint32_t>(msg("a packet"));
    const auto low = body.number<std::uint32_t>(msg("a packet"));
    const std::uint64_t ticks = std::uint64_t{high} << 32 | low;
    const std::uint64_t tick_ns = 1'000'000'000 / interface.ticks_per_second;
    if (ticks > static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max()) / tick_ns) {
      body.fail(tr("a time beyond all runs"));
    }
    return sim::start_of_run + sim::Duration{static_cast<std::int64_t>(ticks * tick_ns)};
  }

  static void read_telegram(Bytes& data, CapturedTelegram& telegram) {
    const auto version = data.big<std::uint8_t>(msg("a telegram's header"));
    if (version != capture::header_version) {
      data.fail(tr("a telegram's header of version {}; this drybus knows version {}", version,
                   capture::header_version));
    }
    const auto flags = data.big<std::uint8_t>(msg("a telegram's header"));
    telegram.collided = (flags & capture::flag_collided) != 0;
    telegram.cut_short = (flags & capture::flag_cut_short) != 0;
    telegram.unfinished = (flags & capture::flag_unfinished) != 0;
    telegram.node = data.big<std::uint16_t>(msg("a telegram's header"));
    const auto length = data.big<std::uint16_t>(msg("a telegram's header"));
    const auto name_length = data.big<std::uint16_t>(msg("a telegram's header"));
    telegram.sender = data.take(name_length, msg("a sender's name")).text();
    if (length > telegram.frame.bytes.size()) data.fail(tr("a frame of {} bytes", length));
    const Bytes frame = data.take(length, msg("a frame"));
    telegram.frame.size = static_cast<std::uint8_t>(length);
    std::copy(frame.raw().begin(), frame.raw().end(), telegram.frame.bytes.begin());
    telegram.telegram = model::decode(telegram.frame);
  }

  static void read_loss(Bytes& value, CapturedTelegram& telegram) {
    if (value.number<std::uint32_t>(msg("an option")) != capture::enterprise) return;
    CapturedLoss lost;
    const auto loss = value.big<std::uint8_t>(msg("a loss"));
    if (loss > static_cast<std::uint8_t>(sim::Loss::cut_short)) value.fail(tr("an unknown loss, {}", loss));
    lost.loss = static_cast<sim::Loss>(loss);
    lost.node = value.big<std::uint16_t>(msg("a loss"));
    lost.receiver = value.text();
    telegram.lost.push_back(std::move(lost));
  }

  Bytes file_;
  Capture capture_;
  std::vector<Interface> interfaces_;
};

}  // namespace

Capture parse_capture(std::string_view name, std::string_view bytes) {
  return CaptureParser{name, bytes}.parse();
}

Capture read_capture(const std::string& path) {
  const auto bytes = DiskFiles{max_capture_bytes}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&bytes)) {
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  }
  return parse_capture(path, std::get<std::string>(bytes));
}

}  // namespace drybus::tools
