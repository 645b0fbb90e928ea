// The main scenario played by hand: press, hold, walk, step back, branch, save; `run` replays what was saved.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { ask, closePage, comes, drawn, holdWithMouse, key, openPage, runText, startPanel, stateOf, until } from './support.mjs';

// Through the page's own button, to the file that the browser downloads.
async function save(page) {
  await page.click('#save');
  const digest = await page.textContent('.digest');
  const [download] = await Promise.all([page.waitForEvent('download'), page.click('#download')]);
  const text = readFileSync(await download.path(), 'utf8');
  assert.match(download.suggestedFilename(), /\.yaml$/);
  await page.keyboard.press('Escape');
  return { digest, text };
}

async function walk(page, place) {
  await page.locator('.room', { hasText: place }).locator('.go').first().click();
  await until(page, (state, to) => state.people[0].walking?.to === to, place);
  // Unless the walk is over before somebody finds the button.
  const skip = page.getByRole('button', { name: 'skip the walk' });
  await Promise.race([skip.click(), until(page, (state, to) => state.people[0].place === to, place)]);
  await until(page, (state, to) => state.people[0].place === to, place);
}

test('press, hold, walk, time-out, back in time, branch, side by side, save; run gives the same digests', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  await ask(page, { do: 'speed', speed: 2 });

  await holdWithMouse(page, 'P1', 'set', 3);
  await until(page, (state) => state.devices.P1.indicator.pattern === 'blink');
  await comes(() => page.locator('[data-device="P1"] .word').first().textContent(), 'blinks');
  await page.click('#play');
  await until(page, (state) => !state.clock.playing);
  const afterHold_s = (await stateOf(page)).clock.now_s;

  await walk(page, 'cold store');
  await holdWithMouse(page, 'M1', 'local', 4);
  await until(page, (state) => state.devices.M1.hidden.mode === 'setup');
  await page.click('#jump');
  await until(page, (state) => state.findings.some(({ id }) => id === 'setup-split'));
  await page.locator('.finding[data-id="setup-split"]').waitFor();
  const first = await save(page);
  const firstRun = runText(first.text);
  assert.equal(firstRun.digest, first.digest);
  assert.ok(firstRun.findings.some(({ id }) => id === 'setup-split'));

  // Back by the handle of the timeline, with the mouse.
  await page.click('#play');
  await until(page, (state) => !state.clock.playing);
  await drawn(page);  // the handle comes along in jumps
  const track = await page.locator('.scrub').boundingBox();
  const { max, value } = await page.locator('.scrub').evaluate((slider) => ({ max: Number(slider.max), value: Number(slider.value) }));
  const x = (at_s) => track.x + 12 + (track.width - 24) * at_s / max;
  await page.mouse.move(x(value), track.y + track.height / 2);
  await page.mouse.down();
  await page.mouse.move(x(60), track.y + track.height / 2, { steps: 4 });
  await page.mouse.move(x(afterHold_s + 0.5), track.y + track.height / 2, { steps: 4 });
  await page.mouse.up();
  await until(page, (state, at_s) => Math.abs(state.clock.now_s - at_s) < 2, afterHold_s + 0.5);
  do { // the handle may ask once more
    await ask(page, { do: 'seek', at_s: afterHold_s });
    await drawn(page, 300);
  } while ((await stateOf(page)).clock.now_s !== afterHold_s);
  await page.click('#branch');
  await until(page, (state) => state.branches.length === 2 && state.branch !== state.branches[0].id);
  await holdWithMouse(page, 'P1', 'two', 0.2);
  await until(page, (state) => state.devices.P1.hidden.mode === 'normal');
  await page.click('#play');
  await until(page, (state) => !state.clock.playing);
  const second = await save(page);
  assert.equal(runText(second.text).digest, second.digest);
  assert.notEqual(second.digest, first.digest);
  assert.ok(!runText(second.text).findings.some(({ id }) => id === 'setup-split'));

  await page.locator('.branch .beside').first().click();
  await page.locator('.beside-view [data-device="M1"]').waitFor();
  // The first branch still has the plate in setup at this moment.
  await page.locator('.beside-view [data-device="P1"] .word', { hasText: 'blinks' }).waitFor();
  const { branches: [{ id, reached_s: at_s }] } = await stateOf(page);
  const { state: left } = await ask(page, { do: 'view', branch: id, at_s });
  assert.ok(left.findings.some((finding) => finding.id === 'setup-split'), 'the first branch is as it was left');

  assert.deepEqual(page.problems, []);
  await closePage(page);
  assert.equal(await panel.stop(), 0);
});

test('power, switches and links are set from the page, and what was done is in the saved scenario', async () => {
  const panel = await startPanel('training/out-of-reach.yaml');
  const page = await openPage(panel.url);
  await page.locator('[data-link="M2-M3"]').click();
  await page.click('#link-open');
  await until(page, (state) => state.links['M2-M3'] === 'open');
  await page.locator('[data-device="M1"] .more').click();
  await page.click('#power');
  await until(page, (state) => !state.devices.M1.powered);
  await page.locator('[data-device="M1"] .no-power').waitFor();
  await page.locator('[data-device="P1"] .more').click();
  await page.getByRole('switch', { name: 'Zone switch 1' }).click();
  await page.click('#set-switches');
  await until(page, (state) => state.devices.P1.switches.zone === 5);
  await page.locator('#play').click();
  const { text, digest } = await save(page);
  assert.equal(runText(text).digest, digest);
  assert.match(text, /open: M2-M3/);
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
});

test('the demonstration stops at the teaching points, and the answer is not shown before it is asked for', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  await page.click('#demo');
  await ask(page, { do: 'speed', speed: 10000 });
  let stops = 0;
  for (; stops < 10; ++stops) {
    await until(page, (state) => state.pause !== null || state.clock.now_s > 302);
    const { pause } = await stateOf(page);
    if (!pause) break;
    // The flash limiter lets no question come sooner after another.
    await drawn(page);
    await page.locator('.demonstration .question').first().waitFor();
    const answers = page.locator('.demonstration .told');
    assert.equal(await answers.count(), 0, 'no answer before it is asked for, not even unseen');
    if (pause.has_answer) {
      assert.ok(!JSON.stringify(await stateOf(page)).includes('What to do'));
      await page.getByRole('button', { name: 'show the answer' }).click();
      await answers.first().waitFor();
    } else {
      // At a remark nobody has begun what comes next.
      const { people } = await stateOf(page);
      assert.equal(people[0].doing, null);
    }
    await page.locator('.go-on').click();
    await until(page, (state, at_s) => state.pause === null || state.pause.at_s > at_s, pause.at_s);
  }
  assert.ok(stops >= 2, `stopped ${stops} times: at the remark and at the finding`);
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
});

test('two viewers see the same bench; only one of them holds the controls', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const first = await openPage(panel.url);
  const second = await openPage(panel.url);
  await key(second, 'P1', 'up').click();
  await second.locator('#notices .complaint').waitFor();
  await ask(first, { do: 'link', link: 'P1-M2', state: 'open' });
  await until(second, (state) => state.links['P1-M2'] === 'open');
  await second.getByRole('button', { name: 'ask for the controls' }).click();
  await first.getByRole('button', { name: /give them to/ }).click();
  await until(second, (state) => state.viewers.you_hold);
  await closePage(first);
  await closePage(second);
  await panel.stop();
});
