// Every ink of the page against every ground it stands on, in both themes, by the formula of WCAG 2.2 (relative
// luminance and contrast ratio): 4.5 for words, 3 for what is only drawn.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { pageFolder } from './page_modules.mjs';

const css = readFileSync(new URL('panel.css', pageFolder), 'utf8');

function palette(selector) {
  const start = css.indexOf(`${selector} {`);
  assert.ok(start >= 0, selector);
  const block = css.slice(start, css.indexOf('}', start));
  return Object.fromEntries([...block.matchAll(/--([a-z-]+):\s*(#[0-9a-f]{6});/g)].map(([, name, value]) => [name, value]));
}

function luminance(hex) {
  const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16) / 255)
    .map((c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

export function contrast(a, b) {
  const [dark, light] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (light + 0.05) / (dark + 0.05);
}

const words = [
  ['ink', 'paper'], ['ink', 'wall'], ['ink', 'unseen'], ['ink', 'key'], ['ink', 'hidden-ground'],
  ['quiet', 'paper'], ['quiet', 'wall'], ['quiet', 'unseen'], ['quiet', 'key'],
  ['hidden', 'paper'], ['hidden', 'hidden-ground'], ['hidden', 'key'], ['hidden', 'wall'],
  ['alarm', 'paper'], ['alarm', 'hidden-ground'], ['alarm', 'key'], ['paper', 'alarm'], ['on-main', 'main'], ['paper', 'ink'],
];
const drawings = [['edge', 'paper'], ['edge', 'wall'], ['edge', 'key'], ['hidden-line', 'hidden-ground'], ['hidden-line', 'paper'],
  ['focus', 'paper'], ['focus', 'wall'], ['focus', 'unseen'], ['focus', 'hidden-ground'], ['lit-edge', 'paper'],
  ['main', 'paper']];

test('the formula gives the ratios that are published: black on white 21, #767676 on white 4.54', () => {
  assert.equal(contrast('#000000', '#ffffff').toFixed(2), '21.00');
  assert.equal(contrast('#767676', '#ffffff').toFixed(2), '4.54');
});

for (const [theme, selector] of [['paper', ':root'], ['dark room', ":root[data-theme='dark-room']"]]) {
  test(`${theme}: words stand out from their ground, 4.5 to 1 at least`, () => {
    const colours = palette(selector);
    for (const [ink, ground] of words) {
      const ratio = contrast(colours[ink], colours[ground]);
      assert.ok(ratio >= 4.5, `${ink} on ${ground}: ${ratio.toFixed(2)}`);
    }
  });
  test(`${theme}: what is drawn stands out, 3 to 1 at least`, () => {
    const colours = palette(selector);
    for (const [ink, ground] of drawings) {
      const ratio = contrast(colours[ink], colours[ground]);
      assert.ok(ratio >= 3, `${ink} on ${ground}: ${ratio.toFixed(2)}`);
    }
    const lamp = Math.max(contrast(colours.lit, colours.ink), contrast(colours.lit, colours.paper));
    assert.ok(lamp >= 3, `a lit lamp from its edge or its ground: ${lamp.toFixed(2)}`);
  });
}
