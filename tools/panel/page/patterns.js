// What an indicator does at a moment: how bright it is, and how often that turns round in real time.

// Brightness 0..1 of a pattern at simulated time now_s. `timing` is {lit_s, dark_s, soft} from the server.
export function brightness(timing, since_s, now_s) {
  if (!timing || timing.lit_s <= 0) return 0;
  if (timing.dark_s <= 0) return 1;
  const period = timing.lit_s + timing.dark_s;
  const at = ((now_s - since_s) % period + period) % period;
  if (!timing.soft) return at < timing.lit_s ? 1 : 0;
  const rising = at < timing.lit_s;
  const part = rising ? at / timing.lit_s : (at - timing.lit_s) / timing.dark_s;
  const swell = (1 - Math.cos(Math.PI * part)) / 2;
  return rising ? swell : 1 - swell;
}

// Real milliseconds from one lighting up to the next; null for a pattern that keeps still.
export function period_ms(timing, speed) {
  if (!timing || timing.lit_s <= 0 || timing.dark_s <= 0) return null;
  return (timing.lit_s + timing.dark_s) * 1000 / speed;
}
