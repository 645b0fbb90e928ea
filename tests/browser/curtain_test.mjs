// The curtain hangs in the server's room: what it hides is in nobody's browser, and a page that is loaded anew finds all
// as it was.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { test } from 'node:test';
import { ask, closePage, comes, drawn, openPage, shots, startPanel, stateOf, until } from './support.mjs';

const isDrawn = (page) => page.evaluate(() => document.body.classList.contains('curtain-drawn'));
const again = async (page) => {
  await page.reload();
  await page.waitForSelector('body.ready');
};
const words = (page, selector) => page.locator(selector).first().textContent();

test('behind the curtain are lamps that nobody looks at and the time left, in every browser', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const trainer = await openPage(panel.url);
  const student = await openPage(panel.url);
  await ask(trainer, { do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await ask(trainer, { do: 'seek', at_s: 31 });
  await comes(() => words(trainer, '#jump'), /\(\d+ s\)/);
  await trainer.click('#curtain');
  for (const page of [trainer, student]) {
    await page.waitForSelector('body.curtain-drawn');
    await drawn(page, 2500);
    const { devices, clock, telegrams, findings, links } = await stateOf(page);
    assert.equal(clock.next_time_out, null);
    assert.deepEqual([telegrams, findings], [[], []]);
    assert.deepEqual(Object.values(devices).map(({ hidden }) => hidden), [null, null, null]);
    assert.equal(devices.P1.indicator.pattern, 'blink', 'the installer stands before it');
    assert.equal(devices.M1.indicator, null, 'nobody is in the cold store');
    assert.equal(devices.M1.load, null);
    assert.deepEqual(new Set(Object.values(links)), new Set(['hidden']));
    await comes(() => words(page, '[data-device="M1"] .word'), 'not seen');
    await comes(() => words(page, '[data-device="M1"] .percent'), 'not seen');
    await comes(() => words(page, '#jump'), 'next time-out');
    assert.doesNotMatch(await page.locator('body').innerText(), /\b21[0-9] s\b|3:3\d|setup-split/);
  }
  await trainer.screenshot({ path: join(shots, 'curtain-lamp-seen.png') });
  // To the cold store: now its lamp is looked at, and the plate's is not.
  await ask(trainer, { do: 'walk', place: 'cold store' });
  await ask(trainer, { do: 'seek', at_s: 140 });
  await until(student, (state) => state.devices.M1.indicator?.pattern !== undefined && state.devices.P1.indicator === null);
  await comes(() => words(trainer, '[data-device="P1"] .word'), 'not seen');
  await comes(() => words(trainer, '[data-device="M1"] .word'), /^(?!not seen)/);
  await trainer.screenshot({ path: join(shots, 'curtain-other-room.png') });
  // Only who holds the controls moves it.
  await student.click('#curtain');
  await student.locator('#notices .complaint').waitFor();
  assert.equal(await isDrawn(student), true);
  await trainer.click('#jump');
  await until(trainer, (state) => state.clock.now_s > 180);
  await trainer.click('#curtain');
  await until(student, (state) => state.devices.P1.hidden !== null && state.devices.M1.indicator !== null);
  assert.deepEqual([...trainer.problems, ...student.problems], []);
  await closePage(student);
  await closePage(trainer);
  await panel.stop();
});

test('a trainer who loads the page anew has the curtain, the question and the controls as they were', async () => {
  const panel = await startPanel('training/setup-split.yaml');
  const trainer = await openPage(panel.url);
  const student = await openPage(panel.url);
  await ask(trainer, { do: 'name', name: 'Ann' });
  await trainer.click('#curtain');
  await ask(trainer, { do: 'demo', pause_at: ['note'] });
  await ask(trainer, { do: 'speed', speed: 10000 });
  await until(trainer, (state) => state.pause !== null);
  const before = await stateOf(trainer);
  assert.equal(before.people[0].doing, null, 'the cure has not begun');
  await drawn(trainer, 2500);
  await trainer.screenshot({ path: join(shots, 'stopped-before-the-cure.png') });
  for (let i = 0; i < 2; ++i) {
    await again(trainer);
    assert.equal(await isDrawn(trainer), true);
    const after = await stateOf(trainer);
    assert.deepEqual(after.pause, before.pause);
    assert.deepEqual(after.clock, before.clock);
    assert.deepEqual(after.devices, before.devices);
    assert.equal(after.viewers.you, before.viewers.you);
    assert.equal(after.viewers.you_hold, true);
    assert.equal(after.viewers.list.find(({ id }) => id === after.viewers.you).name, 'Ann');
  }
  await trainer.locator('.demonstration .question').first().waitFor();
  await drawn(trainer);
  await trainer.screenshot({ path: join(shots, 'loaded-anew.png') });
  await again(student);
  assert.equal(await isDrawn(student), true);
  assert.equal((await stateOf(student)).viewers.you_hold, false);
  await trainer.locator('.go-on').click();
  await until(trainer, (state, at_s) => state.clock.now_s > at_s, before.pause.at_s);

  // A finding: the answer that was told stays told.
  await ask(trainer, { do: 'demo', pause_at: ['finding'] });
  await until(trainer, (state) => state.pause?.points[0].kind === 'finding');
  await until(student, (state) => state.pause?.points[0].kind === 'finding');
  assert.ok(!JSON.stringify(await stateOf(student)).includes('setup-split'));
  await trainer.getByRole('button', { name: 'show the answer' }).click();
  await student.locator('.demonstration .told').waitFor();
  await again(trainer);
  await trainer.locator('.demonstration .told').waitFor();
  assert.deepEqual([...trainer.problems, ...student.problems], []);
  await closePage(student);
  await closePage(trainer);
  await panel.stop();
});
