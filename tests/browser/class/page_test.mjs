// A class in browsers: the list, a bench for each, the overview, over a shoulder, on the wall; and axe-core has no objection.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { test } from 'node:test';
import { objections } from '../objections.mjs';
import { ask, closePage, comes, mouseDown, openPage, shots, startPanel } from '../support.mjs';

const shot = (page, name) => page.screenshot({ path: join(shots, `class-${name}.png`) });
const click = (page, where, words) => page.locator(where).getByRole('button', { name: words }).first().click();

test('a trainer opens a lesson from the list, each pupil has a bench, one of them comes on the wall', async () => {
  const panel = await startPanel('lessons', ['--listen', '127.0.0.1']);
  const trainer = await openPage(panel.lead);
  const pupil = await openPage(panel.join, { width: 390, height: 844, hasTouch: true });
  const wall = await openPage(panel.watch);
  await pupil.waitForSelector('.shelf h1');
  await comes(() => pupil.locator('.shelf').innerText(), /choosing a lesson/);
  assert.deepEqual(await pupil.locator('.offer').count(), 0, 'what is to come is not told');
  await pupil.locator('.own-name input').pressSequentially('Id');
  // Others come while somebody types.
  const late = await openPage(panel.join);
  await trainer.getByText('2 pupils are here').waitFor();
  await ask(pupil, { do: 'state' }).catch(() => {}); // whatever it is answered, all that was told before is here
  await pupil.keyboard.type('a');
  assert.equal(await pupil.inputValue('.own-name input'), 'Ida');
  await closePage(late);
  await click(pupil, '.shelf', 'that is my name');
  await trainer.getByText('One pupil is here: Ida').waitFor();
  assert.equal(await trainer.locator('.offer').count(), 10);
  assert.deepEqual(await objections(trainer), [], 'the list');
  assert.deepEqual(await objections(pupil), [], 'who waits');
  await shot(trainer, 'list');
  await shot(pupil, 'waits');
  await click(trainer, '.shelf', /a bench for each\s+One step too far/);
  await pupil.waitForSelector('.lesson h2:not(:empty)');
  await pupil.waitForSelector('body.curtain-drawn');
  await trainer.waitForSelector('[data-bench]:nth-child(2)');
  assert.deepEqual(await objections(trainer), [], 'the overview');
  assert.deepEqual(await objections(pupil), [], "a pupil's bench");
  await click(pupil, '.lesson', 'go straight there');
  await pupil.locator('.lesson input').fill('7');
  await pupil.locator('.lesson').getByRole('button', { name: 'answer', exact: true }).click();
  await trainer.getByText('question 1 of 3, 1 wrong').waitFor();
  await shot(trainer, 'overview');
  await shot(pupil, 'pupil');
  // What the class does meanwhile makes no list anew under a finger.
  const look = trainer.locator('.class').getByRole('button', { name: 'look at Ida' });
  await mouseDown(trainer, look);
  await pupil.locator('.lesson').getByRole('button', { name: 'a hint' }).click();
  await trainer.waitForFunction(() => window.drybusPanel.classView.told.benches.some(({ hints }) => hints === 1));
  await trainer.mouse.up();
  await trainer.getByText('The bench of Ida').waitFor();
  await trainer.waitForSelector('.lesson h2:not(:empty)'); // the bench comes, and then its lesson
  await comes(() => trainer.locator('.lesson h2').innerText(), /Question 1 of 3/);
  await shot(trainer, 'shoulder');
  assert.deepEqual(await objections(trainer), [], 'over a shoulder');
  await click(trainer, '.where', 'back to the class');
  await trainer.locator('.where').waitFor({ state: 'hidden' });
  await click(trainer, '.class', 'to the wall with Ida');
  await wall.getByText('The bench of Ida').waitFor();
  await pupil.locator('.lesson input').fill('2');
  await pupil.locator('.lesson').getByRole('button', { name: 'answer', exact: true }).click();
  await wall.locator('.says', { hasText: 'That is right.' }).waitFor();
  await shot(wall, 'wall');
  assert.deepEqual(await objections(wall), [], 'the wall');
  for (const page of [trainer, pupil, wall]) assert.deepEqual(page.problems, []);
  await click(trainer, '.class', 'the list of lessons');
  await trainer.waitForSelector('.offers');
  for (const page of [trainer, pupil, wall]) await closePage(page);
  assert.equal(await panel.stop(), 0);
});
