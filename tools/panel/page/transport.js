// Playing the run: play and pause, an event on, to the next time-out, how fast, and where the clock stands.
import { element, setAttribute, setText, unseenWords } from './element.js';
import { positionOf, speedAt, stops } from './speed_scale.js';
import { clockText, durationText, speedText, spokenTime } from './times.js';
import { plural, tr } from './words.js';

export class Transport {
  constructor(desk) {
    this.desk = desk;
    this.time = element('output', { class: 'clock', 'aria-label': tr('Clock of the run') });
    this.play = element('button', { type: 'button', class: 'main', id: 'play', onclick: () => desk.playOrPause() });
    this.step = element('button', { type: 'button', id: 'step', onclick: () => desk.do({ do: 'step' }) }, tr('next event'));
    this.jump = element('button', { type: 'button', id: 'jump', onclick: () => desk.do({ do: 'jump' }) });
    this.slider = element('input', { type: 'range', id: 'speed', min: 0, max: 1000, step: 1, list: 'speeds',
      'aria-label': tr('Speed'), oninput: () => desk.speed(speedAt(this.slider.value / 1000)) });
    this.value = element('output', { class: 'speed-value', for: 'speed' });
    const nudge = (words, onclick, label) => element('button', { type: 'button', class: 'nudge', onclick },
      element('span', { 'aria-hidden': 'true' }, words), unseenWords(label));
    this.node = element('div', { class: 'transport', role: 'group', 'aria-label': tr('Play') },
      this.time, this.play, this.step, this.jump,
      element('span', { class: 'speed' }, this.value, nudge('−', () => desk.slower(), tr('Slower')), this.slider, nudge('+', () => desk.faster(), tr('Faster')),
        element('button', { type: 'button', class: 'nudge', onclick: () => desk.speed(1) },
          '1×', unseenWords(tr(', as fast as life')))),
      element('datalist', { id: 'speeds' }, stops.map((stop) => element('option', { value: positionOf(stop) * 1000 }))));
    this.changed({ speed: 1, next_time_out: null }, false);
  }

  // Behind the curtain nobody is told whether a time-out runs, or for how long.
  changed({ speed, next_time_out: next, full }, isCurtainDrawn) {
    this.next = next;
    this.cannotJump = next === null && !isCurtainDrawn;
    if (document.activeElement !== this.slider) this.slider.value = positionOf(speed) * 1000;
    setAttribute(this.slider, 'aria-valuetext', plural('{n} time as fast as life', '{n} times as fast as life', speed));
    setText(this.value, tr('speed {speed}', { speed: speedText(speed) }));
    setAttribute(this.node, 'data-full', full ? 'yes' : null);
  }

  // Whole seconds while it plays: tenths would race.
  draw({ areas, now_s, real_ms, playing }) {
    areas.showSlowly('play', playing, real_ms, () => setText(this.play, playing ? `❚❚ ${tr('pause')}` : `▶ ${tr('play')}`));
    areas.showSlowly('jump', this.cannotJump, real_ms, (none) => { this.jump.disabled = none; });
    const words = clockText(now_s, !playing);
    const left = this.next ? ` (${durationText(Math.max(0, Math.ceil(this.next.at_s - now_s)))})` : '';
    areas.showSlowly('clock', words + left, real_ms, () => {
      setText(this.time, words);
      setAttribute(this.time, 'aria-label', tr('Clock of the run: {time}', { time: spokenTime(now_s) }));
      setText(this.jump, tr('next time-out') + left);
    });
  }
}
