// What was said and seen, as chips in the order in which it was told; then what was asked and answered.
import { element, unseenWords } from './element.js';
import { renew, roving } from './keep_focus.js';

const kinds = { done: 'did', seen: 'saw', never: 'never', complaint: 'calls for' };

export class ToldView {
  #open = null;

  constructor({ mark, takeOut, putBefore }) {
    this.told = document.querySelector('#told');
    this.answered = document.querySelector('#answered');
    this.part = document.querySelector('#answered-part');
    this.part.open = matchMedia('(min-width: 1000px)').matches;
    this.notes = document.querySelector('#notes');
    Object.assign(this, { mark, takeOut, putBefore });
  }

  show({ told, answered = [], stage }, pen) {
    const fixed = answered.length > 0;
    if (fixed || this.#open >= told.length) this.#open = null;
    this.told.hidden = told.length === 0;
    renew(this.told, told.map((entry, index) => this.#chip(entry, index, fixed, pen)));
    roving(this.told, '.chip');
    this.part.hidden = answered.length === 0;
    renew(this.answered, answered.map((each) => this.#pair(each)));
    this.last = { told, answered, stage, pen };
    this.notes.scrollTop = this.notes.scrollHeight;  // where it scrolls by itself
  }

  #chip(entry, index, fixed, pen) {
    const open = this.#open === index;
    const words = [element('span', { class: 'kind' }, kinds[entry.kind]), ' ',
      entry.unsure ? element('em', {}, 'perhaps ') : null, entry.text];
    const classes = `chip kind-${entry.kind}${entry.unsure ? ' unsure' : ''}`;
    if (fixed || !entry.editable) return element('li', {}, element('span', { class: classes }, words));
    const chip = element('button', { type: 'button', class: classes, 'data-key': `chip-${index}`, 'aria-expanded': String(open),
      onclick: () => {
        this.#open = open ? null : index;
        this.show(this.last, this.last.pen);
      } }, words);
    return element('li', { class: pen === index ? 'pen' : undefined },
      pen === index ? element('span', { class: 'pen-mark' }, 'what you write now comes here') : null, chip,
      open ? this.#actions(entry, index) : null);
  }

  #actions(entry, index) {
    const act = (key, words, run) => element('button', { type: 'button', 'data-key': `${key}-${index}`, onclick: () => {
      this.#open = null;
      run();
    } }, words);
    return element('div', { class: 'row actions', role: 'group', 'aria-label': entry.text },
      entry.markable ? act('mark', entry.unsure ? 'it is sure' : 'nobody is sure', () => this.mark(index, !entry.unsure)) : null,
      entry.in_script ? act('before', 'write before this', () => this.putBefore(index)) : null,
      act('out', 'take out', () => this.takeOut(index)));
  }

  #pair({ about, question, answer, seen }) {
    return element('li', { class: `pair about-${about}` },
      element('p', {}, question),
      element('p', { class: 'given' }, unseenWords('Answer: '), element('strong', {}, answer), seen ? `: ${seen}` : ''));
  }
}
