// Who is there, and who holds the controls: those of all alike, or a trainer's, who lends them to one pupil.
import { element, setText } from './element.js';

export class ViewersView {
  constructor(desk) {
    this.desk = desk;
    this.words = element('span', {});
    this.ask = this.#button('ask for the controls', { do: 'ask_controls' });
    this.give = element('span', { class: 'givers' });
    this.name = this.#nameForm();
    this.node = element('div', { class: 'viewers' }, element('span', { role: 'status' }, this.words), this.ask, this.give, this.name);
  }

  // Whoever comes to a class says who they are.
  #nameForm() {
    const name = element('input', { name: 'name', maxlength: 40, required: true, autocomplete: 'nickname', size: 12, 'aria-label': 'Your name', placeholder: 'your name' });
    return element('form', { class: 'own-name', hidden: true, onsubmit: (event) => {
      event.preventDefault();
      this.desk.do({ do: 'name', name: name.value.trim() });
      name.blur();
    } }, name, element('button', {}, 'that is my name'));
  }

  #button(words, message) {
    return element('button', { type: 'button', onclick: () => this.desk.do(message) }, words);
  }

  // Alone, there is nothing to be told.
  changed(viewers) {
    const { count, holder, you_hold: mine, you_lead: lead, led, own_bench: own, asking, you, list } = viewers;
    const nameOf = (id) => {
      const found = list.find((viewer) => viewer.id === id);
      return found ? `${found.name}${found.away ? ' (away)' : ''}` : 'nobody';
    };
    const role = list.find((viewer) => viewer.id === you)?.role;
    this.name.hidden = !led || role === 'trainer' || list.find((viewer) => viewer.id === you)?.name !== `${role} ${you}`;
    this.node.hidden = count <= 1 && mine && (this.name.hidden || !own);
    document.body.classList.toggle('follows', led && !lead);
    const holding = mine ? 'you have the controls' : `${nameOf(holder)} has the controls`;
    setText(this.words, `${count} here; ${holding}${asking.includes(you) ? '; you asked for them' : ''}`);
    this.ask.hidden = mine || asking.includes(you) || role === 'onlooker' || (led && lead);
    setText(this.ask, own && role === 'trainer' ? 'take the controls for a moment' : 'ask for the controls');
    this.give.replaceChildren(...(led ? this.#lending(viewers, nameOf, role) : this.#giving(viewers, nameOf)));
  }

  // Whoever is asked gives them, or keeps them.
  #giving({ you_hold: mine, asking }, nameOf) {
    if (!mine || asking.length === 0) return [];
    return [...asking.map((id) => this.#button(`give them to ${nameOf(id)}`, { do: 'give_controls', to: id })),
      this.#button('keep them', { do: 'keep_controls' })];
  }

  // The trainer lends them to whoever is there, those first who ask; and takes them back.
  #lending({ you_hold: mine, you_lead: lead, own_bench: own, asking, you, list }, nameOf, role) {
    if (own) return mine && role === 'trainer' ? [this.#button('give them back', { do: 'give_back_controls' })] : [];
    if (!lead) return mine ? [this.#button('give them back', { do: 'give_back_controls' })] : [];
    const pupils = list.filter(({ id, role, away }) => role === 'pupil' && !away && !asking.includes(id)).map(({ id }) => id);
    return [...(mine ? [] : [this.#button('take them back', { do: 'ask_controls' })]),
      ...asking.map((id) => this.#button(`lend them to ${nameOf(id)}, who asks`, { do: 'give_controls', to: id })),
      ...(asking.length > 0 ? [this.#button('not now', { do: 'keep_controls' })] : []),
      ...(pupils.length > 0 ? [this.#pupils(pupils, nameOf)] : [])].filter((node) => you && node);
  }

  #pupils(ids, nameOf) {
    const choice = element('select', { 'aria-label': 'Pupil' }, ids.map((id) => element('option', { value: id }, nameOf(id))));
    return element('span', { class: 'lend' }, choice, element('button', { type: 'button',
      onclick: () => this.desk.do({ do: 'give_controls', to: Number(choice.value) }) }, 'lend the controls'));
  }
}
