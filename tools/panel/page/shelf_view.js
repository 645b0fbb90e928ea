// Before anything is open: the list of what can be, for whoever leads; the others wait and say who they are.
import { element, renew, setText, unseenWords } from './element.js';
import { personName } from './names.js';
import { plural, tr } from './words.js';

export class ShelfView {
  constructor(desk) {
    this.desk = desk;
    this.node = element('main', { class: 'shelf', hidden: true, 'aria-labelledby': 'shelf-title', tabindex: -1 });
  }

  get shown() { return !this.node.hidden; }

  hide() {
    this.node.hidden = true;
    document.body.classList.remove('choosing');
  }

  show(told) {
    document.body.classList.add('choosing', 'ready');
    this.node.hidden = false;
    document.title = `${told.name} – drybus`;
    if (told.you_lead) renew(this.node, () => this.#offers(told));
    else this.#wait(told);
  }

  // Who types a name here goes on typing it when others come: nothing is made anew.
  #wait({ you, role = you.role }) {
    const form = role === 'pupil' ? this.node.querySelector('.own-name') ?? this.#nameForm() : null;
    if (!this.words?.isConnected || !form?.isConnected) {
      this.words = element('p', {});
      this.node.replaceChildren(...[element('h1', { id: 'shelf-title' }, tr('The trainer is choosing a lesson')), this.words, form].filter(Boolean));
    }
    setText(this.words, role === 'onlooker' ? tr('It is shown here when it is open.')
      : tr('You are {name}. The bench is here when it is open.', { name: personName(you.name) }));
  }

  #nameForm() {
    const name = element('input', { name: 'name', maxlength: 40, required: true, autocomplete: 'nickname', size: 16,
      'aria-label': tr('Your name'), placeholder: tr('your name'), type: 'text' });
    return element('form', { class: 'own-name', onsubmit: (event) => {
      event.preventDefault();
      this.desk.do({ do: 'name', name: name.value.trim() });
      name.value = '';
    } }, name, element('button', {}, tr('that is my name')));
  }

  #offers({ offers, people, led }) {
    const pupils = people.filter(({ role, away }) => role === 'pupil' && !away);
    return [element('h1', { id: 'shelf-title' }, tr('What shall we open?')),
      led && element('p', { role: 'status' }, pupils.length === 0 ? tr('No pupil is here yet.')
        : plural('One pupil is here: {names}', '{n} pupils are here: {names}', pupils.length, { names: pupils.map(({ name }) => personName(name)).join(', ') })),
      element('ol', { class: 'offers' }, offers.map((offer, index) => this.#offer(offer, index + 1, led)))].filter(Boolean);
  }

  #offer({ title, about, questions, devices, trouble, file }, number, led) {
    const open = (each) => () => this.desk.do({ do: 'open', offer: number, each });
    return element('li', { class: 'offer' },
      element('h2', {}, title),
      element('p', {}, trouble ?? about),
      element('p', { class: 'quiet' }, trouble ? file
        : `${questions > 0 ? plural('lesson, {n} question', 'lesson, {n} questions', questions) : tr('scenario')}; ${
          plural('{n} device', '{n} devices', devices)}`),
      !trouble && element('div', { class: 'row' },
        element('button', { type: 'button', class: 'main', 'data-focus': `open${number}`, onclick: open(false) },
          led ? tr('open for all at one bench') : tr('open'), unseenWords(` ${title}`)),
        led && element('button', { type: 'button', 'data-focus': `each${number}`, onclick: open(true) }, tr('a bench for each'), unseenWords(` ${title}`))));
  }
}
