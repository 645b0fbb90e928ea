// A module's load: a lamp that hangs from the ceiling, its light as strong as its level, with the percent beside it.
import { drawn, element, setText } from './element.js';
import { levelAt } from './bench.js';
import { number, tr } from './words.js';

export class Load {
  constructor(area, name) {
    this.area = area;
    this.name = name;
    this.cone = drawn('path', { class: 'cone', d: 'M34 34L6 92H94L66 34Z' });
    this.bulb = drawn('circle', { class: 'bulb', cx: 50, cy: 36, r: 10 });
    this.percent = element('span', { class: 'percent' });
    this.bar = element('span', { class: 'bar' });
    this.node = element('div', { class: 'load', role: 'img' },
      drawn('svg', { class: 'pendant', viewBox: '0 0 100 94', 'aria-hidden': 'true' },
        this.cone, drawn('path', { class: 'cable', d: 'M50 0V18' }),
        drawn('path', { class: 'shade', d: 'M42 16H58L72 36H28Z' }), this.bulb),
      element('span', { class: 'meter' }, element('span', { class: 'gauge' }, this.bar), this.percent));
    this.wordsAt_ms = -Infinity;
  }

  // While the curtain is drawn, nothing is told of a lamp that nobody looks at.
  #drawWhetherSeen(areas, real_ms) {
    areas.show(`seen:${this.area}`, this.state !== null, real_ms, (isSeen) => {
      this.isSeen = isSeen;
      this.node.classList.toggle('unseen', !isSeen);
      if (isSeen) return;
      this.node.style.setProperty('--level', 0);
      this.node.classList.remove('lit');
      areas.noteBrightness(`load:${this.area}`, 0);
      setText(this.percent, tr('not seen'));
      delete this.node.dataset.level;
      this.node.setAttribute('aria-label', tr('{name} load: {level}', { name: this.name, level: tr('not seen') }));
      this.wordsAt_ms = -Infinity;
    }, `load:${this.area}`);
  }

  update({ load }) {
    this.state = load;
  }

  draw({ areas, now_s, real_ms, motion }) {
    this.#drawWhetherSeen(areas, real_ms);
    if (!this.state) return;
    const level = levelAt(this.state, now_s);
    const light = motion ? Math.round(level) / 100 : this.state.to / 100;
    const drawnNow = areas.showBrightness(`load:${this.area}`, light, real_ms, (value) => {
      this.node.style.setProperty('--level', value);
      this.node.classList.toggle('lit', value > 0);
      this.shownLight = value;
    });
    // Figures twice a second at most, the last one always.
    if (!drawnNow || (real_ms - this.wordsAt_ms < 500 && light * 100 !== this.state.to)) return;
    if (!this.isSeen) return;
    const words = light === 0 ? tr('off') : `${number(Math.round(light * 100))} %`;
    if (this.percent.textContent !== words) this.wordsAt_ms = real_ms;
    setText(this.percent, words);
    this.node.dataset.level = Math.round(light * 100);
    this.node.setAttribute('aria-label', tr('{name} load: {level}', { name: this.name, level: words }));
  }
}
