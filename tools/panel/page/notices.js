// A word about what was refused or what happens first; it goes by itself.
import { element } from './element.js';
import { tr } from './words.js';

const stays_ms = 6000;

export class Notices {
  constructor(node) {
    this.node = node;
  }

  show(words, kind) {
    this.node.replaceChildren(element('p', { class: kind }, words,
      element('button', { type: 'button', 'aria-label': tr('Put away'), onclick: () => this.node.replaceChildren() }, '✕')));
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.node.replaceChildren(), stays_ms);
  }
}
