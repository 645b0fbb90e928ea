// Tells a screen reader what the eye would catch, a little at a time.
import { findingName } from './names.js';
import { plural, tr } from './words.js';

const pause_ms = 1500;
const most = 4;

export class Announcer {
  #waiting = [];
  #timer = null;

  constructor(region) {
    this.region = region;
  }

  say(words) {
    if (this.#waiting.at(-1) === words) return;
    this.#waiting.push(words);
    this.#timer ??= setTimeout(() => this.#speak(), 100);
  }

  #speak() {
    const left = this.#waiting.length - most;
    const words = this.#waiting.slice(-most);
    if (left > 0) words.unshift(plural('{n} thing more happened.', '{n} things more happened.', left));
    this.region.textContent = words.join(' ');
    this.#waiting = [];
    this.#timer = setTimeout(() => {
      this.#timer = null;
      if (this.#waiting.length > 0) this.#speak();
    }, pause_ms);
  }
}

// What is worth saying of a message. What is behind the curtain is in none.
export function sayings({ timeline = [], findings }, known) {
  const lines = timeline.filter(({ kind }) =>
    ['indicator', 'refused', 'power', 'arrived', 'link', 'mode', 'stored'].includes(kind)).map(({ text }) => `${text}.`);
  const fresh = (findings ?? []).filter(({ key }) => !known.has(key));
  const told = fresh.map(({ id, text }) => tr('Finding {id}: {text}', { id: findingName(id), text }));
  return [...lines, ...told];
}
