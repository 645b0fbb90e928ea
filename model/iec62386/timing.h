// The times of an IEC 62386 line. Each says where its value was seen: S in a stored source (a driver's timing header that
// cites the standard, a maker's note), C computed from the formula, M from memory only: never to be taken for the
// standard's word.
#pragma once

#include <array>
#include <cstdint>

#include "sim/biphase.h"
#include "sim/time.h"

namespace drybus::iec62386 {

using sim::Duration;
using namespace std::chrono_literals;

/// A stretch of time from which something is drawn.
struct Window {
  Duration least;
  Duration most;
};

inline constexpr sim::BiphaseTiming
    bits{};  ///< 1200 bit/s; half-bits of 416.7 us sent, 333 to 500 us received: S

/// From the end of a forward frame to the beginning of its answer: S.
inline constexpr Window answer_window{5'500us, 10'500us};
/// What begins later is no answer: S.
inline constexpr Duration answer_until = 13'400us;

/// Who may send: 1 inside a transaction, 2 somebody's action, 3 configuration, 4 automatic, 5 periodic query (the use: M).
using Priority = std::uint8_t;
/// From the end of anything to a forward frame, by priority 1 to 5: S (the most of 5 M).
inline constexpr std::array<Window, 5> settling = {{{13'500us, 14'700us},
                                                    {14'900us, 16'100us},
                                                    {16'300us, 17'700us},
                                                    {17'900us, 19'300us},
                                                    {19'500us, 21'100us}}};

/// The same frame again within this time, and nothing between: 100 ms S, "nothing between" M.
inline constexpr Duration twice_within = 100ms;
/// How long INITIALISE lasts: S (the standard allows 1.5 minutes either way: M).
inline constexpr Duration initialise_lasts = 15min;
/// A random address is there after RANDOMISE within this time: S.
inline constexpr Duration randomise_takes = 100ms;
inline constexpr Duration identify_lasts = 10s;   ///< S
inline constexpr Duration reset_takes = 300ms;    ///< deaf until then: S
inline constexpr Duration up_down_lasts = 200ms;  ///< S
/// Gear whose mains came on hears nothing until then: 450 ms S.
inline constexpr Duration ready_after = 450ms;
/// From mains on until POWER ON LEVEL, when nobody sent anything: M.
inline constexpr Duration power_on_after = 600ms;
/// A line that is low for longer has failed: 500 ms S in one edition, 550 ms in another.
inline constexpr Duration line_failed_after = 500ms;

/// Two edges closer together than this are in the same place of the grid: the one that lets go first has lost. S.
inline constexpr Duration same_grid = 100us;
/// For so long a sender does not see that another one has begun. No source: an assumption of ours.
inline constexpr Duration unseen_for = 130us;
/// A sender that finds its edges destroyed pulls low for so long, S, and begins anew after so long, M.
inline constexpr Window break_lasts{1'200us, 1'400us};
inline constexpr Window after_break{4'000us, 4'600us};

}  // namespace drybus::iec62386
