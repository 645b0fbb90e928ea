// The story so far, line by line, newest first.
import { element, renew } from './element.js';
import { shutEye } from './curtain.js';
import { clockText } from './times.js';
import { tr } from './words.js';

const lines_shown = 60;

export class StoryView {
  constructor(desk) {
    this.desk = desk;
    this.list = element('ol', { class: 'lines', reversed: true });
    this.node = element('section', { class: 'story', 'aria-labelledby': 'story-title', tabindex: 0 },
      element('h2', { id: 'story-title' }, tr('what happened')), this.list);
  }

  draw({ areas, real_ms, now_s }, timeline) {
    const past = timeline.filter(({ at_s }) => at_s <= now_s + 1e-6);
    const key = `${past.at(-1)?.entry}/${past.length}`;
    areas.showSlowly('story', key, real_ms, () => {
      renew(this.list, () => past.slice(-lines_shown).reverse().map((line) => this.#line(line)));
    });
  }

  #line({ at_s, text, hidden, kind }) {
    return element('li', { class: hidden ? 'line unseen-line' : 'line', 'data-kind': kind },
      element('button', { type: 'button', class: 'when', tabindex: -1, onclick: () => this.desk.seek(at_s),
        'aria-label': tr('Go to {time}', { time: clockText(at_s) }) }, clockText(at_s)),
      hidden ? element('span', { class: 'what' }, shutEye(), element('span', { class: 'revealed' }, text),
        element('span', { class: 'covered' }, tr('hidden'))) : element('span', { class: 'what' }, text));
  }
}
