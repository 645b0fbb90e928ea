// The numbers of a capture file: pcapng (draft-ietf-opsawg-pcapng), and our own header before each telegram.
//
// A capture of ours is one section with one interface for each bus and one enhanced packet block for each
// transmission:
//
//   interface     link type 147 (USER0), if_tsresol 9 (nanoseconds since the run began), if_name, if_speed (bit/s)
//   packet        time of the telegram's first bit; data, all numbers with the high byte first:
//                   0  version of this header, 1
//                   1  flags: bit 0 collided (some receiver heard another telegram on top of it), bit 1 cut short (the
//                      sender's power went), bit 2 the run ended while it was under way
//                   2  sender, as the number of its node: plates first, then modules, in the order of the site
//                   4  length of the frame, bytes
//                   6  length of the sender's name, bytes
//                   8  the sender's name (UTF-8)
//                   .. the frame, as it was sent: kind, site, zone, channel, argument, CRC-16/XMODEM
//   opt_comment   what became of it, in words
//   option 2989   (custom, binary, to be copied) one for each receiver that missed it: enterprise number 32473, kept
//                 for documentation by RFC 5612, then the loss (1 byte: 0 collision, 1 noise, 2 no path, 3 unpowered),
//                 the receiver's node (2 bytes) and its name
#pragma once

#include <cstddef>
#include <cstdint>

namespace drybus::tools::capture {

inline constexpr std::uint32_t section_block = 0x0a0d0d0a;
inline constexpr std::uint32_t interface_block = 1;
inline constexpr std::uint32_t packet_block = 6;
inline constexpr std::uint32_t byte_order_magic = 0x1a2b3c4d;
/// Type, length, and the length again at the end.
inline constexpr std::size_t block_frame_size = 12;

inline constexpr std::uint16_t option_end = 0;
inline constexpr std::uint16_t option_comment = 1;
inline constexpr std::uint16_t section_application = 4;
inline constexpr std::uint16_t interface_name = 2;
inline constexpr std::uint16_t interface_description = 3;
inline constexpr std::uint16_t interface_speed = 8;
inline constexpr std::uint16_t interface_time_resolution = 9;
inline constexpr std::uint16_t interface_time_offset = 14;
inline constexpr std::uint16_t option_custom_binary = 2989;

inline constexpr std::uint16_t link_type = 147;
inline constexpr std::uint8_t time_resolution = 9;
inline constexpr std::uint32_t enterprise = 32473;

inline constexpr std::uint8_t header_version = 1;
inline constexpr std::size_t header_size = 8;
inline constexpr std::uint8_t flag_collided = 1;
inline constexpr std::uint8_t flag_cut_short = 2;
inline constexpr std::uint8_t flag_unfinished = 4;

}  // namespace drybus::tools::capture
