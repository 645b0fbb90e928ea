// Single keys for whoever leads a class. They can be turned off (WCAG 2.2, success criterion 2.1.4).
import { element } from './element.js';
import { openDialog } from './dialog.js';
import { legend } from './legend.js';
import { tr } from './words.js';

const kept = 'drybus-panel-shortcuts';
// Who writes a name there wants every letter of it.
const takesLetters = 'input:not([type=range], [type=checkbox]), textarea, select';

export class Shortcuts {
  constructor(actions) {
    this.actions = actions;  // [{key, words, run}]
    this.on = localStorage.getItem(kept) !== 'off';
    document.addEventListener('keydown', (event) => this.#take(event));
  }

  #take(event) {
    if (!this.on || event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
    if (document.querySelector('dialog[open]') || event.target.closest(takesLetters)) return;
    const action = this.actions.find(({ key }) => key === event.key);
    if (!action) return;
    event.preventDefault();
    action.run();
  }

  help() {
    const box = element('input', { type: 'checkbox', checked: this.on, onchange: ({ target }) => {
      this.on = target.checked;
      localStorage.setItem(kept, this.on ? 'on' : 'off');
    } });
    openDialog(tr('Keys and marks'), [
      element('p', {}, tr('Tab goes from one thing to the next. Space or Enter on a button of a plate or a module presses it for ' +
        'as long as the key is down.')),
      element('dl', { class: 'keys' }, this.actions.map(({ key, words }) =>
        element('div', {}, element('dt', {}, element('kbd', {}, key)), element('dd', {}, words)))),
      element('label', { class: 'tick' }, box, tr('single keys work')),
      element('h3', {}, tr('What the marks mean')), legend(),
    ]);
  }
}
