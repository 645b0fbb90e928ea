// Nothing on this page flashes more than three times in any second, all areas summed, whatever the speed of playback
// (WCAG 2.2, success criterion 2.3.1: a flash is a pair of opposing changes in luminance). Two parts:
//
// - `plan` decides which indicators may blink at all. What does not fit keeps still under a mark that says it blinks.
// - `allow` is the gate that every sudden change passes, blinks and all others. What it refuses is asked for again
//   with the next frame, so that the page always ends at the truth.

// Longer than a second, as one frame can reach the screen later after it was drawn than another does. Longer still and the
// slowest blinking would no longer fit.
export const window_ms = 1200;
export const most_flashes = 3;
// Of those, what may blink all the time; the rest is for what happens once.
export const blinking_budget = 2;

// How many flashes a pattern of this period can put into one window.
export function flashesOf(period_ms) {
  const changes = Math.floor(2 * window_ms / period_ms) + 1;
  return Math.floor(changes / 2);
}

// A swell may be this deep (a difference of relative luminance) without any pair of opposing changes within a second
// reaching the 10 % that make it a flash: half a window each side of its turning point.
export function softDepth(period_ms, deepest = 0.35) {
  const half = Math.min(1, window_ms / period_ms);
  const turn = (1 - Math.cos(Math.PI * half)) / 2;
  return Math.min(deepest, 0.09 / Math.max(turn, 1e-6));
}

export class FlashLimiter {
  #changes = new Map();   // area -> times of its sudden changes within the window, in ms
  #direction = new Map(); // area -> which way its brightness last went
  #still = new Map();     // pattern -> until when it keeps still

  // wanted: [{area, pattern, period_ms}]. Returns the patterns that must keep still. All that blink alike keep still
  // together, as a class would read something into the difference.
  plan(wanted, now_ms) {
    const groups = new Map();
    for (const { pattern, period_ms } of wanted) {
      groups.set(pattern, (groups.get(pattern) ?? 0) + flashesOf(period_ms));
    }
    const order = [...groups].sort(([a, p], [b, q]) => p - q || (a < b ? -1 : 1));
    let left = blinking_budget;
    const still = new Set();
    for (const [pattern, flashes] of order) {
      // Once still, it stays so for a while: going to and fro would be a flash as well.
      const fits = flashes <= left && (this.#still.get(pattern) ?? -Infinity) <= now_ms;
      if (fits) {
        left -= flashes;
      } else {
        still.add(pattern);
        if (flashes > left) this.#still.set(pattern, now_ms + 2000);
      }
    }
    return still;
  }

  // May the area change suddenly now? If so, that is taken to happen.
  allow(area, now_ms) {
    this.#forget(now_ms);
    const times = this.#changes.get(area) ?? [];
    if (this.#flashes() - pairs(times.length) + pairs(times.length + 1) > most_flashes) return false;
    this.#changes.set(area, [...times, now_ms]);
    this.#direction.delete(area);
    return true;
  }

  changedLately(area, now_ms) {
    return (this.#changes.get(area) ?? []).some((time) => time > now_ms - window_ms);
  }

  // May its brightness go from one value to another? Going on the same way is no new change.
  allowBrightness(area, from, to, now_ms) {
    if (from === to) return true;
    const way = Math.sign(to - from);
    const times = this.#changes.get(area);
    if (this.#direction.get(area) === way && times?.length > 0) {
      times[times.length - 1] = now_ms;
      return true;
    }
    if (!this.allow(area, now_ms)) return false;
    this.#direction.set(area, way);
    return true;
  }

  #flashes() {
    let sum = 0;
    for (const times of this.#changes.values()) sum += pairs(times.length);
    return sum;
  }

  #forget(now_ms) {
    for (const [area, times] of this.#changes) {
      const recent = times.filter((time) => time > now_ms - window_ms);
      if (recent.length === 0) this.#changes.delete(area);
      else if (recent.length < times.length) this.#changes.set(area, recent);
    }
  }
}

const pairs = (changes) => Math.floor(changes / 2);
