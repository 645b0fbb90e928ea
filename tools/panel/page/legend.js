// What the marks mean: the same as in the pictures that `drybus draw` makes.
import { drawn, element } from './element.js';
import { tr } from './words.js';

const picture = (...parts) => drawn('svg', { viewBox: '0 0 60 22', 'aria-hidden': 'true' }, ...parts);
const bar = (fill) => drawn('rect', { x: 0, y: 5, width: 60, height: 12, fill });
const at = (name, attributes) => drawn(name, { transform: 'translate(30 11)', ...attributes });

const marks = () => [
  [picture(bar('url(#blink-texture)')), tr('the lamp blinks: in setup')],
  [picture(drawn('rect', { width: 60, height: 22, fill: 'url(#breathe-lane)' })), tr('the lamp breathes: its plate is in setup')],
  [picture(bar('url(#steady-texture)')), tr('the lamp is steady: identify')],
  [picture(drawn('circle', { class: 'lit-fill', cx: 30, cy: 11, r: 7 })), tr('a blip: a telegram was heard')],
  [picture(bar('url(#refuse-texture)')), tr('the plate refuses')],
  [picture(drawn('rect', { x: 0, y: 3, width: 60, height: 16, fill: 'url(#hatch)' })), tr('in setup (hidden)')],
  [picture(drawn('rect', { x: 0, y: 3, width: 60, height: 16, fill: 'url(#cross-hatch)' })), tr('no power')],
  [picture(drawn('rect', { class: 'legend-pressed', x: 0, y: 8, width: 60, height: 6 })), tr('a button is down')],
  [picture(at('rect', { class: 'sender', x: -6, y: -6, width: 12, height: 12 })), tr('sends')],
  [picture(at('circle', { class: 'heard', r: 5 })), tr('heard it')],
  [picture(at('path', { class: 'took', d: 'M-8 -7H8L0 8Z' })), tr('took the address')],
  [picture(at('circle', { class: 'ignored', r: 6 })), tr('heard an assign, but was not in setup')],
  [picture(at('path', { class: 'lost', d: 'M-8 -8L8 8M-8 8L8 -8' })), tr('did not hear it')],
  [picture(drawn('rect', { class: 'legend-breach', x: 0, y: 6, width: 60, height: 10 })), tr('out of step')],
];

export const legend = () =>
  element('ul', { class: 'legend' }, marks().map(([drawing, words]) => element('li', {}, drawing, words)));
