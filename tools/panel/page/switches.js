// A plate's switches: small as a picture, large to be set.
import { drawn, element } from './element.js';
import { tr } from './words.js';

const isBinary = ({ kind }) => kind === 'binary';

// Which switches of a bank are on for a number; switch 1 is the least significant.
export const bits = (count, value) => Array.from({ length: count }, (_, i) => (value >> i) & 1);
// The dials of a number; dial 1 shows the units.
export const digits = (count, value) => Array.from({ length: count }, (_, i) => Math.floor(value / 10 ** i) % 10);

export function switchPicture(bank, value) {
  if (!isBinary(bank)) {
    const shown = digits(bank.count, value).reverse();
    return drawn('svg', { class: 'bank', viewBox: `0 0 ${shown.length * 18} 18` }, shown.map((digit, i) => [
      drawn('circle', { cx: i * 18 + 9, cy: 9, r: 8 }),
      drawn('text', { x: i * 18 + 9, y: 13.5, 'text-anchor': 'middle' }, digit)]));
  }
  return drawn('svg', { class: 'bank', viewBox: `0 0 ${bank.count * 8} 18` },
    drawn('rect', { x: 0.5, y: 0.5, width: bank.count * 8 - 1, height: 17, rx: 2 }),
    bits(bank.count, value).map((on, i) => drawn('rect', { class: 'slider', x: i * 8 + 1.8, y: on ? 2.2 : 9, width: 4.4,
      height: 6.8 })));
}

// The form: large switches, and the number they make. changed(value) is called with each setting.
export function switchForm(title, bank, value, changed) {
  const sum = element('output', { class: 'sum' }, String(value));
  const set = (next) => {
    sum.textContent = String(next);
    changed(next);
  };
  const rows = isBinary(bank) ? binaryRow(title, bank, value, set) : dialRow(title, bank, value, set);
  return element('fieldset', { class: 'switch-form' }, element('legend', {}, title, ' ', sum), rows);
}

function binaryRow(title, { count }, value, set) {
  const on = bits(count, value);
  return element('div', { class: 'binary-row' }, on.map((bit, i) => element('button', {
    type: 'button', class: 'binary', role: 'switch', 'aria-checked': String(bit === 1),
    'aria-label': tr('{title} switch {number}', { title, number: i + 1 }),
    onclick: ({ currentTarget }) => {
      on[i] = 1 - on[i];
      currentTarget.setAttribute('aria-checked', String(on[i] === 1));
      set(on.reduce((sum, each, k) => sum + (each << k), 0));
    },
  }, element('span', { class: 'track' }), element('span', { class: 'number' }, String(i + 1)))));
}

function dialRow(title, { count, largest }, value, set) {
  const dials = digits(count, value);
  return element('div', { class: 'dial-row' }, dials.map((digit, i) => element('label', {}, tr('dial {number}', { number: i + 1 }),
    element('input', {
      type: 'number', min: 0, max: 9, value: digit, inputmode: 'numeric', 'aria-label': tr('{title} dial {number}', { title, number: i + 1 }),
      onchange: ({ target }) => {
        dials[i] = Math.min(9, Math.max(0, Math.round(Number(target.value) || 0)));
        target.value = dials[i];
        set(Math.min(largest, dials.reduce((sum, each, k) => sum + each * 10 ** k, 0)));
      },
    }))).reverse());
}
