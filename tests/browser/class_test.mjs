// A class: a trainer who leads, a pupil who is lent the controls, somebody who looks on; and the program ends in between.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { ask, closePage, comes, openPage, shots, startPanel, stateOf, until } from './support.mjs';

const told = (page) => page.locator('.viewers').innerText();
const click = (page, words) => page.locator('.viewers button', { hasText: words }).first().click();
const refusal = (page, message) => ask(page, message).then(() => '', (error) => error.message);

test('the trainer lends the controls and has them back; what a pupil does sets the clock going', async () => {
  const panel = await startPanel('training/setup-split.yaml', ['--listen', '127.0.0.1']);
  const trainer = await openPage(panel.lead);
  const pupil = await openPage(panel.join);
  const onlooker = await openPage(panel.watch);
  await onlooker.click('#wall'); // who is there is not for the wall
  await pupil.fill('.own-name input', 'Ida');
  await click(pupil, 'that is my name');
  await pupil.waitForFunction(() => !document.querySelector('.own-name').checkVisibility());
  await click(pupil, 'ask for the controls');
  await comes(() => told(onlooker), /3 here; trainer 1 has the controls/);
  assert.doesNotMatch(await told(onlooker), /ask for/);
  await trainer.screenshot({ path: join(shots, 'class-trainer-asked.png') });
  assert.match(await refusal(pupil, { do: 'speed', speed: 20 }), /the trainer's/);
  assert.match(await refusal(onlooker, { do: 'ask_controls' }), /Onlookers/);
  await click(trainer, 'lend them to Ida, who asks');
  await until(pupil, '(state) => state.viewers.you_hold');
  await ask(pupil, { do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await until(pupil, '(state) => state.clock.playing');
  await pupil.screenshot({ path: join(shots, 'class-pupil-has-controls.png') });
  await click(trainer, 'take them back');
  await until(pupil, '(state) => !state.viewers.you_hold');
  await comes(() => told(pupil), /trainer 1 has the controls/);
  for (const page of [trainer, pupil, onlooker]) assert.deepEqual(page.problems, []);
  for (const page of [trainer, pupil, onlooker]) await closePage(page);
  await panel.stop();
});

test('a bench that is kept goes on after the program ended: links, curtain, branches, and the trainer leads again', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'drybus-kept-'));
  const options = ['--listen', '127.0.0.1', '--keep', folder];
  const first = await startPanel('training/setup-split.yaml', options);
  const trainer = await openPage(first.lead);
  await ask(trainer, { do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await ask(trainer, { do: 'seek', at_s: 31 });
  await ask(trainer, { do: 'curtain', drawn: true });
  await until(trainer, (state) => state.clock.now_s === 31 && state.curtain_drawn);
  const before = await stateOf(trainer);
  await closePage(trainer);
  assert.equal(await first.stop(), 0);
  const second = await startPanel('training/setup-split.yaml', options);
  const query = (url) => url.slice(url.indexOf('?'));
  assert.equal(query(second.lead), query(first.lead));
  assert.equal(query(second.join), query(first.join));
  const pupil = await openPage(second.join);
  const state = await stateOf(pupil);
  assert.ok(state.curtain_drawn);
  assert.equal(state.clock.now_s, before.clock.now_s);
  assert.equal(state.devices.P1.indicator.pattern, 'blink');
  assert.equal(state.viewers.you_hold, false);
  const again = await openPage(second.lead);
  await until(again, '(state) => state.viewers.you_lead && state.viewers.you_hold');
  await ask(again, { do: 'curtain', drawn: false });
  await until(pupil, '(state) => !state.curtain_drawn');
  for (const page of [again, pupil]) await closePage(page);
  await second.stop();
  rmSync(folder, { recursive: true });
});

test('a module without a button shows what puts it in setup, and its supply is switched there', async () => {
  const panel = await startPanel('training/supply-counted-out.yaml');
  const page = await openPage(panel.url);
  const supply = page.locator('[data-device="M1"] .supply');
  await comes(() => supply.innerText(), /off and on 3 times/);
  await ask(page, { do: 'seek', at_s: 5 });
  for (let i = 0; i < 6; ++i) await supply.click();
  await page.screenshot({ path: join(shots, 'supply-switched.png') });
  await until(page, "(state) => state.devices.M1.hidden.mode === 'setup'");
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
});
