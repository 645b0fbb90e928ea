// From the finger to the light: how long a press takes until the lamp on the screen is different, at the speed of life.
// A time is reported, not held to: machines differ. Of it the family's contacts settle for 20 ms and the telegram is
// some 10 ms on the wire.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { ask, closePage, drawn, key, mouseDown, openPage, startPanel, until } from './support.mjs';

const presses = 5;

// In the page: from the pointer event to the frame after the lamp changed.
const watch = (page, device, event) => page.evaluate(([name, type]) => {
  const load = document.querySelector(`[data-device="${name}"] .load`);
  window.lampTook = new Promise((resolve) => {
    document.addEventListener(type, (down) => {
      const seen = new MutationObserver(() => {
        seen.disconnect();
        requestAnimationFrame((frame) => resolve(frame - down.timeStamp));
      });
      seen.observe(load, { attributes: true, attributeFilter: ['style'] });
    }, { capture: true, once: true });
  });
}, [device, event]);

const median = (numbers) => [...numbers].sort((a, b) => a - b)[Math.floor(numbers.length / 2)];

test('press to lamp change on the screen at 1×', async (t) => {
  const panel = await startPanel('training/first-steps.yaml');
  const page = await openPage(panel.url);
  await ask(page, { do: 'play' });
  const atPlate = [];
  const atModule = [];
  for (let i = 0; i < presses; ++i) {
    await mouseDown(page, key(page, 'M1', 'local'));
    await watch(page, 'M1', 'pointerup');
    await page.waitForTimeout(60);
    await page.mouse.up();
    atModule.push(await page.evaluate(() => window.lampTook));
    await drawn(page, 800);  // the fade
  }
  await closePage(page);
  await panel.stop();

  const second = await startPanel('training/setup-split.yaml');
  const other = await openPage(second.url);
  await ask(other, { do: 'play' });
  for (let i = 0; i < presses; ++i) {
    await key(other, 'P1', 'up').click({ delay: 60 });
    await until(other, (state) => state.devices.M2.load.to === 100);
    await drawn(other, 800);
    await watch(other, 'M2', 'pointerdown');
    await mouseDown(other, key(other, 'P1', 'off'));
    atPlate.push(await other.evaluate(() => window.lampTook));
    await other.mouse.up();
    await until(other, (state) => state.devices.M2.load.to === 0);
    await drawn(other, 800);
  }
  for (const [what, numbers] of [['local button let go', atModule], ['plate button down, by telegram', atPlate]]) {
    t.diagnostic(`${what} to lamp: median ${median(numbers).toFixed(1)} ms, worst ${Math.max(...numbers).toFixed(1)} ms, of ${numbers.length}`);
    assert.ok(numbers.every((ms) => ms > 0));
  }
  await closePage(other);
  await second.stop();
});
