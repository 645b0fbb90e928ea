// The one line that everything is written in: sentences that fit are offered below it, and Enter takes the first.
import { element, setAttribute, setText } from './element.js';

export class LineView {
  #offers = [];
  #at = 0;

  // `offersFor` gives what fits a text: [{words, kind, ...}]; `take` is called with one of them, or with {line} as typed.
  constructor({ offersFor, take, escape }) {
    this.form = document.querySelector('#write');
    this.input = document.querySelector('#line');
    this.list = document.querySelector('#suggestions');
    this.refused = document.querySelector('#refused');
    Object.assign(this, { offersFor, take, escape });
    this.form.addEventListener('submit', (event) => {
      event.preventDefault();
      this.#enter();
    });
    this.input.addEventListener('input', () => {
      this.refuse('');
      this.#at = 0;
      this.#show();
    });
    this.input.addEventListener('keydown', (event) => this.#key(event));
    this.input.addEventListener('blur', () => setTimeout(() => this.#close(), 150));
  }

  // What is asked for, and what goes with it.
  ask(words, placeholder = '') {
    setText(document.querySelector('#line-name'), words);
    setAttribute(this.input, 'placeholder', placeholder || null);
  }

  get text() { return this.input.value; }

  // What was refused, to be mended.
  putBack(text) {
    if (this.input.value !== '' || text === '') return;
    this.input.value = text;
    this.#show();
  }

  focus() { this.input.focus(); }

  refuse(words) { setText(this.refused, words); }

  clear() {
    this.input.value = '';
    this.#close();
  }

  #key(event) {
    const open = !this.list.hidden;
    if ((event.key === 'ArrowDown' || event.key === 'ArrowUp') && open) {
      event.preventDefault();
      const count = this.#offers.length;
      this.#at = (this.#at + (event.key === 'ArrowDown' ? 1 : count - 1)) % count;
      this.#mark();
    } else if (event.key === 'Escape') {
      event.preventDefault();
      if (open || this.input.value !== '') this.clear();
      else this.escape();
    }
  }

  #show() {
    this.#offers = this.input.value.trim() === '' ? [] : this.offersFor(this.input.value);
    this.list.hidden = this.#offers.length === 0;
    setAttribute(this.input, 'aria-expanded', String(!this.list.hidden));
    this.list.replaceChildren(...this.#offers.map((offer, index) =>
      element('li', { role: 'option', id: `suggestion-${index}`, class: `kind-${offer.kind}`,
        onpointerdown: (event) => event.preventDefault(), onclick: () => this.#takeOffer(index) }, offer.words)));
    this.#mark();
  }

  #mark() {
    [...this.list.children].forEach((option, index) => {
      option.setAttribute('aria-selected', String(index === this.#at));
      if (index === this.#at) option.scrollIntoView({ block: 'nearest' });
    });
    setAttribute(this.input, 'aria-activedescendant', this.#offers.length > 0 ? `suggestion-${this.#at}` : null);
  }

  #close() {
    this.#offers = [];
    this.list.hidden = true;
    setAttribute(this.input, 'aria-expanded', 'false');
    setAttribute(this.input, 'aria-activedescendant', null);
  }

  #enter() {
    if (this.#offers.length > 0) this.#takeOffer(this.#at);
    else this.take({ line: this.input.value.trim() });
  }

  #takeOffer(index) {
    this.take(this.#offers[index]);
    this.focus();
  }
}
