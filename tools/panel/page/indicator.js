// The one lamp of a plate or a module, with its pattern in shape and words beside it.
import { drawn, element, setText } from './element.js';
import { softDepth } from './flash_limiter.js';
import { patternName } from './names.js';
import { brightness, period_ms } from './patterns.js';
import { tr } from './words.js';

export class Indicator {
  constructor(area, name) {
    this.area = area;
    this.name = name;
    this.glass = drawn('circle', { class: 'glass', cx: 20, cy: 20, r: 14 });
    this.overlay = drawn('rect', { class: 'overlay', x: 2, y: 2, width: 36, height: 36, rx: 18 });
    this.texture = drawn('rect', { class: 'texture', x: 0, y: 0, width: 60, height: 16 });
    this.word = element('span', { class: 'word' });
    this.node = element('div', { class: 'indicator', role: 'img' },
      drawn('svg', { class: 'lamp', viewBox: '0 0 40 40', 'aria-hidden': 'true' }, this.glass, this.overlay),
      element('span', { class: 'reading' }, this.word,
        drawn('svg', { class: 'strip', viewBox: '0 0 60 16', 'aria-hidden': 'true' }, this.texture)));
    this.shown = '';
  }

  // Nothing is told of a lamp that nobody looks at while the curtain is drawn.
  update({ indicator }, timings) {
    this.pattern = indicator?.pattern ?? 'unseen';
    this.since_s = indicator?.since_s ?? 0;
    this.timing = timings[this.pattern];
  }

  // What the limiter has to plan for; null for what keeps still or only swells.
  wants(speed) {
    const period = period_ms(this.timing, speed);
    if (period === null || this.timing.soft) return null;
    return { area: `lamp:${this.area}`, pattern: this.pattern, period_ms: period };
  }

  draw({ areas, now_s, real_ms, speed, playing, still, motion }) {
    const period = period_ms(this.timing, speed);
    const keepsStill = period !== null && (!playing || still.has(this.pattern) || !motion);
    const face = `${this.pattern}${keepsStill ? ' still' : ''}`;
    const light = this.#light(keepsStill, period, now_s);
    const spot = `lamp:${this.area}`;
    // A new pattern comes with its light: one change, not two.
    areas.show(`face:${this.area}`, face, real_ms, () => {
      this.#face(this.pattern, keepsStill);
      areas.noteBrightness(spot, light);
      this.#shine(light);
    }, spot);
    if (this.shown === face) areas.showBrightness(spot, light, real_ms, (value) => this.#shine(value));
  }

  #shine(light) {
    this.glass.style.setProperty('--light', light.toFixed(3));
  }

  #light(keepsStill, period, now_s) {
    if (keepsStill) return 0.5;
    const bright = brightness(this.timing, this.since_s, now_s);
    // In steps of a twentieth: finer ones cost painting and show nothing.
    return this.timing?.soft ? Math.round((1 - softDepth(period) * 1.5 * (1 - bright)) * 20) / 20 : bright;
  }

  #face(pattern, keepsStill) {
    this.shown = pattern + (keepsStill ? ' still' : '');
    this.node.dataset.pattern = pattern;
    this.node.classList.toggle('still', keepsStill);
    this.overlay.style.fill = keepsStill ? `url(#${pattern}-still)` : '';
    this.texture.style.fill = pattern === 'dark' || pattern === 'unseen' ? '' : `url(#${pattern}-texture)`;
    setText(this.word, patternName(pattern));
    this.node.setAttribute('aria-label', tr('{name} indicator: {pattern}', { name: this.name, pattern: patternName(pattern) }));
  }
}
