// How times are told: as the other views of drybus tell them, minutes:seconds of the run's clock.
import { number, plural, tr } from './words.js';

// 259.04 -> "4:19.0"; an hour or more as "1:04:19.0". Without tenths: "4:19".
export function clockText(seconds, tenths = true) {
  const whole = tenths ? Math.round(seconds * 10) / 10 : Math.floor(seconds + 1e-9);
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor(whole / 60) % 60;
  const rest = (whole % 60).toFixed(tenths ? 1 : 0).padStart(tenths ? 4 : 2, '0');
  return hours > 0 ? `${hours}:${String(minutes).padStart(2, '0')}:${rest}` : `${minutes}:${rest}`;
}

// 100 -> "100 s", 5.25 -> "5.2 s", 600 -> "10 min".
export function durationText(seconds) {
  if (seconds >= 600) return `${number(Math.round(seconds / 60))} min`;
  const tenths = Math.round(seconds * 10) / 10;
  return `${number(tenths)} s`;
}

// In words, for a voice: "4 minutes 19 seconds".
export function spokenTime(seconds) {
  const whole = Math.round(seconds);
  const minutes = Math.floor(whole / 60);
  const rest = whole % 60;
  const inMinutes = plural('{n} minute', '{n} minutes', minutes);
  const inSeconds = plural('{n} second', '{n} seconds', rest);
  if (minutes === 0) return inSeconds;
  return rest === 0 ? inMinutes : tr('{minutes} {seconds}', { minutes: inMinutes, seconds: inSeconds });
}

// 60 -> "60×", 0.25 -> "0.25×", 1234.5 -> "1,230×".
export function speedText(speed) {
  const rounded = speed >= 100 ? Number(speed.toPrecision(3)) : Number(speed.toPrecision(2));
  return `${number(rounded)}×`;
}
