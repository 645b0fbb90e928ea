// What could explain what was told, and how sure that is.
import { element } from './element.js';

const most = 6;

export const percent = (share) => share > 0.995 ? 'over 99 %' : share < 0.01 ? 'under 1 %' : `${Math.round(share * 100)} %`;

export class ExplainedView {
  constructor() {
    this.part = document.querySelector('#explained');
    this.node = document.querySelector('#explanations');
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
      element('meter', { min: 0, max: 1, value: share, 'aria-hidden': 'true' }), element('span', { class: 'text' }, text));
  }
}
