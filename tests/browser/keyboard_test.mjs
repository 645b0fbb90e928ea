// The whole job without a mouse, and with fingers on glass.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { ask, closePage, comes, drawn, key, mouseDown, openPage, startPanel, stateOf, until, whileHeld } from './support.mjs';

// Tab until the focus is on what the selector names; every stop must show where it is.
async function tabTo(page, selector, most = 80) {
  for (let i = 0; i < most; ++i) {
    await page.keyboard.press('Tab');
    const at = await page.evaluate((wanted) => {
      const node = document.activeElement;
      const style = getComputedStyle(node);
      return { there: node.matches(wanted), seen: style.outlineStyle !== 'none' || node.matches('.link, body'),
        what: node.outerHTML.slice(0, 80) };
    }, selector);
    assert.ok(at.seen, `no focus to be seen on ${at.what}`);
    if (at.there) return i + 1;
  }
  throw new Error(`Tab never came to ${selector}`);
}

test('by keyboard alone: hold into setup, walk, jump, go back in time, branch, save', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  await ask(page, { do: 'speed', speed: 2 });

  await tabTo(page, '[data-device="P1"] [data-button="set"]');
  await page.keyboard.down(' ');
  await whileHeld(page, 3);
  await page.keyboard.up(' ');
  await until(page, (state) => state.devices.P1.hidden.mode === 'setup');

  await tabTo(page, '[data-button="up"]');
  await page.keyboard.press('Enter', { delay: 120 });
  await until(page, (state) => state.devices.P1.hidden.channel === 1);

  await tabTo(page, '.go');
  await page.keyboard.press('Enter');
  await until(page, (state) => state.people[0].walking !== null);
  await page.keyboard.press('j');
  await until(page, (state) => state.devices.P1.hidden.mode === 'normal');

  await page.keyboard.press('k');
  await until(page, (state) => !state.clock.playing);
  const before = (await stateOf(page)).clock.now_s;
  await page.keyboard.press(',');
  await until(page, (state, at_s) => state.clock.now_s < at_s - 9, before);
  await tabTo(page, '.scrub');
  const there = (await stateOf(page)).clock.now_s;
  await page.keyboard.press('ArrowLeft');
  await until(page, (state, at_s) => state.clock.now_s < at_s, there);

  await page.keyboard.press('b');
  await until(page, (state) => state.branches.length === 2);
  await page.keyboard.press('c');
  await page.waitForSelector('#curtain[aria-pressed=true]');
  await page.keyboard.press('s');
  await page.locator('#download').waitFor();
  assert.ok(await page.evaluate(() => document.activeElement.id === 'download'));
  await page.keyboard.press('Escape');
  await page.keyboard.press('?');
  await page.getByLabel('single keys work').uncheck();
  await page.keyboard.press('Escape');
  await page.keyboard.press('c');
  await page.waitForTimeout(300);
  assert.equal(await page.getAttribute('#curtain', 'aria-pressed'), 'true', 'single keys are off');
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
});

test('hands that are faster than the news of their last deed lose nothing', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  await ask(page, { do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await ask(page, { do: 'seek', at_s: 100 });
  const keys = (pressed) => page.evaluate((each) => {
    for (const key of each) document.body.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true }));
  }, [...pressed]);
  // Who is answered knows what came of all before it.
  const known = async () => {
    await ask(page, { do: 'speed', speed: 1 });
    const { clock: { now_s, playing }, curtain_drawn: isDrawn } = await stateOf(page);
    return { now_s, playing, isDrawn };
  };
  await keys(',,,ccc');
  assert.deepEqual(await known(), { now_s: 70, playing: false, isDrawn: true });
  await keys(']]]');
  await until(page, (state) => state.clock.speed === 10);
  await keys('k');
  await until(page, (state) => state.clock.playing);
  await keys('kkcc');
  const { playing, isDrawn } = await known();
  assert.deepEqual([playing, isDrawn], [true, true]);
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
});

test('a screen reader is told what shows, and what is hidden only while the curtain is open', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  const heard = [];
  await page.exposeFunction('hear', (words) => heard.push(words));
  await page.evaluate(() => new MutationObserver(() => window.hear(document.querySelector('#announcer').textContent))
    .observe(document.querySelector('#announcer'), { childList: true, characterData: true, subtree: true }));
  await page.click('#curtain');
  await ask(page, { do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await ask(page, { do: 'speed', speed: 5 });
  await ask(page, { do: 'play' });
  await until(page, (state) => state.devices.P1.indicator?.pattern === 'blink');
  await ask(page, { do: 'pause' }); // it is no longer in setup before long
  await comes(() => heard.join(' '), /P1's indicator: blink/);
  assert.doesNotMatch(heard.join(' '), /entered setup/);
  await comes(() => page.locator('[data-device="P1"] .indicator').first().getAttribute('aria-label'), 'P1 indicator: blinks');
  await closePage(page);
  await panel.stop();
});

// Fingers that come down together, through the browser's own input, as a touch screen sends them.
async function fingers(page, spots, held_s) {
  const devtools = await page.context().newCDPSession(page);
  await drawn(page); // the rooms stand where they will stand
  const touchPoints = [];
  for (const [id, spot] of spots.entries()) {
    const box = await spot.boundingBox();
    touchPoints.push({ x: box.x + box.width / 2, y: box.y + box.height / 2, id });
  }
  await devtools.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints });
  await whileHeld(page, held_s);
  await devtools.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
}

test('two fingers hold two buttons of one plate together', async () => {
  const panel = await startPanel('training/same-number-next-door.yaml');
  const page = await openPage(panel.url, { width: 820, height: 1180, hasTouch: true });
  await ask(page, { do: 'speed', speed: 2 });
  await fingers(page, [key(page, 'P1', 'mark'), key(page, 'P1', 'scene')], 2.6);
  await until(page, (state) => state.devices.P1.hidden.mode === 'setup');
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
});

test('a mouse holds two buttons by the key that stands for both', async () => {
  const panel = await startPanel('training/same-number-next-door.yaml');
  const page = await openPage(panel.url);
  await ask(page, { do: 'speed', speed: 2 });
  await mouseDown(page, page.locator('[data-device="P1"] .together'));
  await whileHeld(page, 2.6);
  await page.mouse.up();
  await until(page, (state) => state.devices.P1.hidden.mode === 'setup');
  await closePage(page);
  await panel.stop();
});
