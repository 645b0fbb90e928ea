// What could explain what was told, and how sure that is.
import { drawn, element } from './element.js';

const most = 6;

export const percent = (share) => share > 0.995 ? 'over 99 %' : share < 0.01 ? 'under 1 %' : `${Math.round(share * 100)} %`;

export class ExplainedView {
  constructor() {
    this.part = document.querySelector('#explained');
    this.node = document.querySelector('#explanations');
  }

  // Explanations name devices; people know them by their labels.
  names(rooms) {
    this.labels = new Map(rooms.flatMap((room) => room.devices).map(({ name, label }) => [name, label]));
    this.named = this.labels.size > 0 ? new RegExp(`(?<![\\w-])(${[...this.labels.keys()].join('|')})(?:-(${[...this.labels.keys()].join('|')}))?(?![\\w-])`, 'g') : null;
  }

  inLabels(text) {
    if (!this.named) return text;
    return text.replace(this.named, (all, one, other) => other ? `from ${this.labels.get(one)} to ${this.labels.get(other)}` : this.labels.get(one));
  }

  show({ explanations = [], unexplained = 0, working }) {
    this.part.hidden = explanations.length === 0;
    this.part.classList.toggle('stale', Boolean(working));
    const rows = explanations.slice(0, most).map(({ probability, text }) => this.#row(probability, text));
    if (unexplained >= 0.01) rows.push(this.#row(unexplained, 'None of these.'));
    this.node.replaceChildren(element('ol', {}, rows),
      explanations.length > most ? element('p', { class: 'quiet' }, `And ${explanations.length - most} less likely.`) : '');
  }

  #row(share, text) {
    return element('li', {}, element('span', { class: 'share' }, percent(share)),
      drawn('svg', { class: 'gauge', 'aria-hidden': 'true', viewBox: '0 0 100 1', preserveAspectRatio: 'none' },
        drawn('rect', { width: 100, height: 1 }), drawn('rect', { class: 'bar', width: share * 100, height: 1 })), element('span', { class: 'text' }, this.inLabels(text)));
  }
}
