// Who is there, and who holds the controls.
import { element, setText } from './element.js';

export class ViewersView {
  constructor(desk) {
    this.desk = desk;
    this.words = element('span', {});
    this.ask = element('button', { type: 'button', onclick: () => desk.ask({ do: 'ask_controls' }) }, 'ask for the controls');
    this.give = element('span', { class: 'givers' });
    this.node = element('div', { class: 'viewers', role: 'status' }, this.words, this.ask, this.give);
  }

  // Alone, there is nothing to be told.
  changed(viewers) {
    const { count, holder, you_hold: mine, asking, you, list } = viewers;
    const nameOf = (id) => {
      const found = list.find((viewer) => viewer.id === id);
      return found ? `${found.name}${found.away ? ' (away)' : ''}` : 'nobody';
    };
    this.node.hidden = count <= 1 && mine;
    const holding = mine ? 'you hold the controls' : `${nameOf(holder)} holds the controls`;
    setText(this.words, `${count} here; ${holding}${asking.includes(you) ? '; you asked for them' : ''}`);
    this.ask.hidden = mine || asking.includes(you);
    this.give.replaceChildren(...(mine ? asking : []).map((id) => element('button', { type: 'button',
      onclick: () => this.desk.do({ do: 'give_controls', to: id }) }, `give them to ${nameOf(id)}`)),
      ...(mine && asking.length > 0 ? [element('button', { type: 'button', onclick: () => this.desk.do({ do: 'keep_controls' }) },
        'keep them')] : []));
  }
}
