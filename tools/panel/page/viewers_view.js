// Who is there, and who holds the controls: those of all alike, or a trainer's, who lends them to one pupil.
import { element, renew, setText } from './element.js';
import { personName } from './names.js';
import { plural, tr } from './words.js';

export class ViewersView {
  constructor(desk) {
    this.desk = desk;
    this.words = element('span', {});
    this.ask = this.#button(tr('ask for the controls'), { do: 'ask_controls' });
    this.give = element('span', { class: 'givers' });
    this.name = this.#nameForm();
    this.node = element('div', { class: 'viewers' }, element('span', { role: 'status' }, this.words), this.ask, this.give, this.name);
  }

  // Whoever comes to a class says who they are.
  #nameForm() {
    const name = element('input', { name: 'name', maxlength: 40, required: true, autocomplete: 'nickname', size: 12, 'aria-label': tr('Your name'), placeholder: tr('your name') });
    return element('form', { class: 'own-name', hidden: true, onsubmit: (event) => {
      event.preventDefault();
      this.desk.do({ do: 'name', name: name.value.trim() });
      name.blur();
    } }, name, element('button', {}, tr('that is my name')));
  }

  #button(words, message) {
    return element('button', { type: 'button', 'data-focus': JSON.stringify(message), onclick: () => this.desk.do(message) }, words);
  }

  // Alone, there is nothing to be told.
  changed(viewers) {
    const { count, holder, you_hold: mine, you_lead: lead, led, own_bench: own, asking, you, list } = viewers;
    const nameOf = (id) => {
      const found = list.find((viewer) => viewer.id === id);
      return !found ? tr('nobody') : found.away ? tr('{name} (away)', { name: personName(found.name) }) : personName(found.name);
    };
    const role = list.find((viewer) => viewer.id === you)?.role;
    this.name.hidden = !led || role === 'trainer' || list.find((viewer) => viewer.id === you)?.name !== `${role} ${you}`;
    this.node.hidden = count <= 1 && mine && (this.name.hidden || !own);
    document.body.classList.toggle('follows', led && !lead);
    const holding = mine ? tr('you have the controls') : tr('{name} has the controls', { name: nameOf(holder) });
    setText(this.words, plural('{n} here; {holding}', '{n} here; {holding}', count, { holding }) + (asking.includes(you) ? tr('; you asked for them') : ''));
    this.ask.hidden = mine || asking.includes(you) || role === 'onlooker' || (led && lead);
    setText(this.ask, own && role === 'trainer' ? tr('take the controls for a moment') : tr('ask for the controls'));
    renew(this.give, () => led ? this.#lending(viewers, nameOf, role) : this.#giving(viewers, nameOf));
  }

  // Whoever is asked gives them, or keeps them.
  #giving({ you_hold: mine, asking }, nameOf) {
    if (!mine || asking.length === 0) return [];
    return [...asking.map((id) => this.#button(tr('give them to {name}', { name: nameOf(id) }), { do: 'give_controls', to: id })),
      this.#button(tr('keep them'), { do: 'keep_controls' })];
  }

  // The trainer lends them to whoever is there, those first who ask; and takes them back.
  #lending({ you_hold: mine, you_lead: lead, own_bench: own, asking, you, list }, nameOf, role) {
    if (own) return mine && role === 'trainer' ? [this.#button(tr('give them back'), { do: 'give_back_controls' })] : [];
    if (!lead) return mine ? [this.#button(tr('give them back'), { do: 'give_back_controls' })] : [];
    const pupils = list.filter(({ id, role, away }) => role === 'pupil' && !away && !asking.includes(id)).map(({ id }) => id);
    return [...(mine ? [] : [this.#button(tr('take them back'), { do: 'ask_controls' })]),
      ...asking.map((id) => this.#button(tr('lend them to {name}, who asks', { name: nameOf(id) }), { do: 'give_controls', to: id })),
      ...(asking.length > 0 ? [this.#button(tr('not now'), { do: 'keep_controls' })] : []),
      ...(pupils.length > 0 ? [this.#pupils(pupils, nameOf)] : [])].filter((node) => you && node);
  }

  #pupils(ids, nameOf) {
    const choice = element('select', { 'aria-label': tr('Pupil') }, ids.map((id) => element('option', { value: id }, nameOf(id))));
    return element('span', { class: 'lend' }, choice, element('button', { type: 'button',
      onclick: () => this.desk.do({ do: 'give_controls', to: Number(choice.value) }) }, tr('lend the controls')));
  }
}
