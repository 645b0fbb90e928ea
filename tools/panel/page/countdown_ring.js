// The time left until a setup mode ends by itself, as a ring that drains.
import { drawn, element, setText } from './element.js';
import { clockText } from './times.js';
import { tr } from './words.js';

const around = 2 * Math.PI * 16;

export class CountdownRing {
  constructor() {
    this.left = drawn('circle', { class: 'left', cx: 20, cy: 20, r: 16, 'stroke-dasharray': around,
      transform: 'rotate(-90 20 20)' });
    this.words = element('span', { class: 'time-left', role: 'timer', 'aria-label': tr('time left') });
    this.node = element('span', { class: 'countdown', hidden: true },
      drawn('svg', { viewBox: '0 0 40 40', 'aria-hidden': 'true' },
        drawn('circle', { class: 'whole', cx: 20, cy: 20, r: 16 }), this.left), this.words);
    this.wordsAt_ms = -Infinity;
  }

  draw(setup, now_s, real_ms) {
    const hidden = !setup || setup.ends_s === null;
    if (this.node.hidden !== hidden) this.node.hidden = hidden;
    if (hidden) return;
    const left_s = Math.max(0, setup.ends_s - now_s);
    const gone = Math.round((1 - left_s / setup.total_s) * around * 4) / 4;
    if (gone !== this.gone) this.left.setAttribute('stroke-dashoffset', gone);
    this.gone = gone;
    if (real_ms - this.wordsAt_ms < 500) return;
    this.wordsAt_ms = real_ms;
    setText(this.words, clockText(Math.ceil(left_s), false));
  }
}
