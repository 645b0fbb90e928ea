// Says whose bench is shown, to whoever looks at another one than their own.
import { element } from './element.js';
import { personName } from './names.js';
import { tr } from './words.js';

export class WhereBar {
  constructor(desk) {
    this.desk = desk;
    this.node = element('p', { class: 'where', role: 'status', hidden: true });
  }

  take({ bench, name, home }, leads) {
    this.node.hidden = home;
    document.body.classList.toggle('looks-over-shoulder', !home);
    if (home) return;
    const back = leads && element('button', { type: 'button', onclick: () => this.desk.do({ do: 'look_at', bench: 0 }) }, tr('back to the class'));
    this.node.replaceChildren(...[element('span', {}, bench === 0 ? tr('The bench of the class') : tr('The bench of {name}', { name: personName(name) })), back].filter(Boolean));
  }
}
