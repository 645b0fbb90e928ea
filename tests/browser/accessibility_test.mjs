// axe-core finds nothing to object to, whatever the curtain, the theme, the dialog or the demonstration; targets are
// large enough for fingers, words for the back row.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { objections } from './objections.mjs';
import { ask, closePage, drawn, openPage, startPanel, until } from './support.mjs';

test('axe-core has no objection in any state of the page', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  await ask(page, { do: 'demo', pause_at: ['note'] });
  await ask(page, { do: 'speed', speed: 10000 });
  await until(page, (state) => state.pause !== null);
  await drawn(page, 1500);
  assert.deepEqual(await objections(page), [], 'curtain open, stopped at a teaching point');
  await page.click('#curtain');
  await page.waitForSelector('body.curtain-drawn');
  assert.deepEqual(await objections(page), [], 'curtain drawn');
  await page.click('#theme');
  assert.deepEqual(await objections(page), [], 'dark room, curtain drawn');
  await page.click('#curtain');
  await page.waitForSelector('body:not(.curtain-drawn)');
  assert.deepEqual(await objections(page), [], 'dark room, curtain open');
  await page.locator('[data-device="P1"] .more').click();
  assert.deepEqual(await objections(page), [], 'a dialog');
  await page.keyboard.press('Escape');
  await page.locator('.branch .beside').first().click();
  await page.locator('.beside-view .device').first().waitFor();
  assert.deepEqual(await objections(page), [], 'two branches side by side');

  // The check can say no.
  await page.evaluate(() => document.querySelector('#save').replaceChildren());
  assert.ok((await objections(page)).some((text) => text.startsWith('button-name')));
  await closePage(page);
  await panel.stop();
});

test('on a tablet every target is at least 44 px each way, and nothing is set smaller than 14 px', async () => {
  const panel = await startPanel('training/first-steps.yaml');
  const page = await openPage(panel.url, { width: 820, height: 1180, hasTouch: true });
  const small = await page.evaluate(() => [...document.querySelectorAll('button, input, summary, a.button')]
    .filter((node) => node.getClientRects().length > 0 && !node.closest('.line'))
    .map((node) => ({ what: node.outerHTML.slice(0, 90), box: node.getBoundingClientRect() }))
    .filter(({ box }) => box.width < 43.5 || box.height < 43.5).map(({ what, box }) => `${box.width}x${box.height} ${what}`));
  assert.deepEqual(small, []);
  const tiny = await page.evaluate(() => [...document.querySelectorAll('body *')]
    .filter((node) => node.getClientRects().length > 0 && [...node.childNodes].some((child) => child.nodeType === 3 && child.data.trim()))
    .filter((node) => !node.closest('.visually-hidden, svg') && parseFloat(getComputedStyle(node).fontSize) < 14)
    .map((node) => `${getComputedStyle(node).fontSize} ${node.outerHTML.slice(0, 90)}`));
  assert.deepEqual(tiny, []);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wide <= 0, `the page is ${wide} px too wide`);
  await closePage(page);
  await panel.stop();
});
