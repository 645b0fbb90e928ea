// What the screen itself shows: the browser's own pictures of the page, taken while the script plays at many speeds, are
// cut into small squares, and flashes of each are counted as WCAG 2.2 defines them: pairs of opposing changes of relative
// luminance by a tenth or more, the darker below 0.8. Squares that change together are one flash of a larger area.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { filmed } from './film.mjs';
import { measured } from './machine.mjs';
import { ask, closePage, drawn, openPage, startPanel } from './support.mjs';

const speeds = [0.25, 1, 4, 30, 300, 10000];
const seconds = 2.2;
async function playedAt(page, decoder, speed) {
  await ask(page, { do: 'demo', pause_at: ['finding'] });
  await ask(page, { do: 'seek', at_s: speed < 10 ? 20.5 : 0 });
  await ask(page, { do: 'speed', speed });
  await ask(page, { do: 'play' });
  // Fast, the script is over in no time: it is begun again and again, which no person could do so quickly.
  const again = speed < 10 ? null : setInterval(() => {
    ask(page, { do: 'seek', at_s: 0 }).then(() => ask(page, { do: 'play' })).catch(() => {});
  }, Math.max(150, 60000 / speed));
  const seen = await filmed(page, decoder, seconds * 1000);
  clearInterval(again);
  return seen;
}

test('the filmed page flashes no more than three times in any second, at any speed', async (t) => {
  const panel = await startPanel('training/two-plates-in-setup.yaml');
  const page = await openPage(panel.url);
  const decoder = await openPage(`${panel.url}`, { bypassCSP: true });
  await decoder.evaluate(() => { document.body.replaceChildren(); });
  const told = [];
  for (const speed of speeds) {
    const { outcome: { most, pictures }, judged, told: how } = await measured(() => playedAt(page, decoder, speed), (seen) => seen.most <= 3);
    told.push(`${speed}×: ${most} in a second, of ${pictures} pictures (${how})`);
    if (judged) assert.ok(most <= 3, `${most} flashes in one second at ${speed}×`);
  }
  t.diagnostic(told.join('; '));

  // The eye of this test sees a lamp that does flash.
  await page.evaluate(() => {
    const lamp = document.createElement('div');
    Object.assign(lamp.style, { position: 'fixed', left: '200px', top: '200px', width: '60px', height: '60px', zIndex: 99 });
    document.body.append(lamp);
    let on = false;
    setInterval(() => { on = !on; lamp.style.background = on ? '#fff' : '#000'; }, 80);
  });
  const { outcome: lamp, judged } = await measured(() => filmed(page, decoder, 1600), (seen) => seen.most > 3);
  if (judged) assert.ok(lamp.most > 3);
  await closePage(page);
  await closePage(decoder);
  await panel.stop();
});

test('whoever asks for less motion sees nothing blink', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url, { reducedMotion: 'reduce' });
  await ask(page, { do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await ask(page, { do: 'seek', at_s: 4 });
  await ask(page, { do: 'play' });
  await page.locator('[data-device="P1"] .indicator.still[data-pattern="blink"]').waitFor();
  await drawn(page);
  const changed = await page.evaluate(() => new Promise((resolve) => {
    let count = 0;
    const glass = document.querySelector('[data-device="P1"] .glass');
    new MutationObserver(() => { count += 1; }).observe(glass, { attributes: true });
    setTimeout(() => resolve(count), 1500);
  }));
  assert.equal(changed, 0);
  await closePage(page);
  await panel.stop();
});
