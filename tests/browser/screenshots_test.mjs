// Pictures of the page at three sizes, to be looked at; and that nothing which matters is cut off on a projector.
import { join } from 'node:path';
import { test } from 'node:test';
import { ask, closePage, comes, drawn, openPage, shots, startPanel, until } from './support.mjs';

const sizes = [[1280, 720], [1920, 1080], [820, 1180]];

test('pictures at three sizes, curtain open and drawn, paper and dark room', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  await ask(page, { do: 'demo', pause_at: ['note'] });
  await ask(page, { do: 'speed', speed: 10000 });
  await until(page, (state) => state.pause !== null);
  for (const [width, height] of sizes) {
    await page.setViewportSize({ width, height });
    await drawn(page);
    const name = (what) => join(shots, `${what}-${width}x${height}.png`);
    await page.screenshot({ path: name('open') });
    if (width === 1280) {
      // The rooms of the main scenario are not cut off.
      await comes(() => page.evaluate(() => {
        const views = document.querySelector('.views');
        return views.scrollHeight - views.clientHeight <= 2;
      }), true);
    }
    await page.click('#curtain');
    await page.click('#theme');
    await page.waitForSelector('body.curtain-drawn');
    await drawn(page);
    await page.screenshot({ path: name('drawn-dark') });
    await page.click('#curtain');
    await page.click('#theme');
    await page.waitForSelector('body:not(.curtain-drawn)');
  }
  await closePage(page);
  await panel.stop();
});
