// The story so far, line by line, newest first.
import { element } from './element.js';
import { shutEye } from './curtain.js';
import { clockText } from './times.js';

const lines_shown = 60;

export class StoryView {
  constructor(desk) {
    this.desk = desk;
    this.list = element('ol', { class: 'lines', reversed: true });
    this.node = element('section', { class: 'story', 'aria-labelledby': 'story-title', tabindex: 0 },
      element('h2', { id: 'story-title' }, 'what happened'), this.list);
  }

  draw({ areas, real_ms, now_s }, timeline) {
    const past = timeline.filter(({ at_s }) => at_s <= now_s + 1e-6);
    const key = `${past.at(-1)?.entry}/${past.length}`;
    areas.showSlowly('story', key, real_ms, () => {
      this.list.replaceChildren(...past.slice(-lines_shown).reverse().map((line) => this.#line(line)));
    });
  }

  #line({ at_s, text, hidden, kind }) {
    return element('li', { class: hidden ? 'line unseen-line' : 'line', 'data-kind': kind },
      element('button', { type: 'button', class: 'when', tabindex: -1, onclick: () => this.desk.seek(at_s),
        'aria-label': `Go to ${clockText(at_s)}` }, clockText(at_s)),
      hidden ? element('span', { class: 'what' }, shutEye(), element('span', { class: 'revealed' }, text),
        element('span', { class: 'covered' }, 'hidden')) : element('span', { class: 'what' }, text));
  }
}
