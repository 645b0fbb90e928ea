// The curtain before what nobody on site can see: modes, time left, stored addresses, telegrams, findings, and lamps that
// nobody looks at. It hangs in the server's room, the same for everybody: what it hides is not sent.
import { drawn, element } from './element.js';

export class Curtain extends EventTarget {
  #drawn = false;

  get isDrawn() { return this.#drawn; }

  set(isDrawn) {
    if (isDrawn === this.#drawn) return;
    this.#drawn = isDrawn;
    document.body.classList.toggle('curtain-drawn', isDrawn);
    this.dispatchEvent(new Event('moved'));
  }
}

// An eye that is shut marks all that is hidden, whether the curtain is drawn or not.
export const shutEye = () => drawn('svg', { class: 'shut-eye', viewBox: '0 0 26 16', 'aria-hidden': 'true' },
  drawn('path', { d: 'M2 4Q13 14 24 4M6 8L3 12M13 10V15M20 8L23 12' }));

// Something hidden: what is behind the curtain, and what stands there while it is drawn.
export function behindCurtain(words, ...children) {
  return element('div', { class: 'hidden-truth' },
    element('div', { class: 'revealed' }, shutEye(), ...children),
    element('div', { class: 'covered' }, shutEye(), element('span', {}, words)));
}
