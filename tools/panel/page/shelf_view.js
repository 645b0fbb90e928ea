// Before anything is open: the list of what can be, for whoever leads; the others wait and say who they are.
import { element, unseenWords } from './element.js';

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
    const typed = this.node.querySelector('.own-name input')?.value ?? '';
    document.body.classList.add('choosing', 'ready');
    this.node.hidden = false;
    document.title = `${told.name} – drybus`;
    this.node.replaceChildren(...(told.you_lead ? this.#offers(told) : this.#waiting(told)));
    const input = this.node.querySelector('.own-name input');
    if (input && typed) input.value = typed;
  }

  #waiting({ you, role = you.role }) {
    return [element('h1', { id: 'shelf-title' }, 'The trainer is choosing a lesson'),
      element('p', {}, role === 'onlooker' ? 'It is shown here when it is open.' : `You are ${you.name}. The bench is here when it is open.`),
      role === 'pupil' && this.#nameForm()].filter(Boolean);
  }

  #nameForm() {
    const name = element('input', { name: 'name', maxlength: 40, required: true, autocomplete: 'nickname', size: 16,
      'aria-label': 'Your name', placeholder: 'your name', type: 'text' });
    return element('form', { class: 'own-name', onsubmit: (event) => {
      event.preventDefault();
      this.desk.do({ do: 'name', name: name.value.trim() });
      name.value = '';
    } }, name, element('button', {}, 'that is my name'));
  }

  #offers({ offers, people, led }) {
    const pupils = people.filter(({ role, away }) => role === 'pupil' && !away);
    return [element('h1', { id: 'shelf-title' }, 'What shall we open?'),
      led && element('p', { role: 'status' }, pupils.length === 0 ? 'No pupil is here yet.'
        : `${pupils.length === 1 ? 'One pupil is' : `${pupils.length} pupils are`} here: ${pupils.map(({ name }) => name).join(', ')}`),
      element('ol', { class: 'offers' }, offers.map((offer, index) => this.#offer(offer, index + 1, led)))].filter(Boolean);
  }

  #offer({ title, about, questions, devices, trouble, file }, number, led) {
    const open = (each) => () => this.desk.do({ do: 'open', offer: number, each });
    return element('li', { class: 'offer' },
      element('h2', {}, title),
      element('p', {}, trouble ?? about),
      element('p', { class: 'quiet' }, trouble ? file
        : `${questions > 0 ? `lesson, ${questions} ${questions === 1 ? 'question' : 'questions'}` : 'scenario'}; ${devices} devices`),
      !trouble && element('div', { class: 'row' },
        element('button', { type: 'button', class: 'main', onclick: open(false) },
          led ? 'open for all at one bench' : 'open', unseenWords(` ${title}`)),
        led && element('button', { type: 'button', onclick: open(true) }, 'a bench for each', unseenWords(` ${title}`))));
  }
}
