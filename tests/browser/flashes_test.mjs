// What the screen itself shows: the browser's own pictures of the page, taken while the script plays at many speeds, are
// cut into small squares, and flashes of each are counted as WCAG 2.2 defines them: pairs of opposing changes of relative
// luminance by a tenth or more, the darker below 0.8. Squares that change together are one flash of a larger area.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { changes, film, mostFlashes, squaresOf } from './film.mjs';
import { ask, closePage, openPage, startPanel } from './support.mjs';

const speeds = [0.25, 1, 4, 30, 300, 10000];
const seconds = 2.2;
test('the filmed page flashes no more than three times in any second, at any speed', async (t) => {
  const panel = await startPanel('training/two-plates-in-setup.yaml');
  const page = await openPage(panel.url);
  const decoder = await openPage(`${panel.url}`, { bypassCSP: true });
  await decoder.evaluate(() => { document.body.replaceChildren(); });
  const told = [];
  for (const speed of speeds) {
    await ask(page, { do: 'demo', pause_at: ['finding'] });
    await ask(page, { do: 'seek', at_s: speed < 10 ? 20.5 : 0 });
    await ask(page, { do: 'speed', speed });
    await ask(page, { do: 'play' });
    // Fast, the script is over in no time: it is begun again and again, which no person could do so quickly.
    const again = speed < 10 ? null : setInterval(() => {
      ask(page, { do: 'seek', at_s: 0 }).then(() => ask(page, { do: 'play' })).catch(() => {});
    }, Math.max(150, 60000 / speed));
    const frames = await film(page, seconds * 1000);
    clearInterval(again);
    const pictures = [];
    for (const frame of frames) pictures.push(await squaresOf(decoder, frame));
    const found = changes(frames.map(({ at }) => at), pictures);
    const most = mostFlashes(found);
    told.push(`${speed}×: ${most} in a second, of ${frames.length} pictures`);
    assert.ok(most <= 3, `${most} flashes in one second at ${speed}×`);
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
  const frames = await film(page, 1600);
  const pictures = [];
  for (const frame of frames) pictures.push(await squaresOf(decoder, frame));
  assert.ok(mostFlashes(changes(frames.map(({ at }) => at), pictures)) > 3);
  await closePage(page);
  await closePage(decoder);
  await panel.stop();
});

test('whoever asks for less motion sees nothing blink', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url, { reducedMotion: 'reduce' });
  await ask(page, { do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await ask(page, { do: 'speed', speed: 30 });
  await ask(page, { do: 'play' });
  await page.locator('[data-device="P1"] .indicator.still[data-pattern="blink"]').waitFor();
  await ask(page, { do: 'speed', speed: 1 });
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
