// A whole call on its page, with somebody at the other end to whom something really happened.
import assert from 'node:assert/strict';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, test } from 'node:test';
import axe from 'axe-core';
import { Truth, atTheTerminal, drybus } from './call_truth.mjs';
import { closePage, comes, guard_ms, openPage, shots, startServer } from './support.mjs';

const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const hall = join(process.env.DRYBUS_SOURCE, 'scenarios/sites/village-hall.yaml');
const folder = mkdtempSync(join(tmpdir(), 'drybus-call-'));
after(() => rmSync(folder, { recursive: true }));

const callOf = (page) => page.evaluate(() => window.drybusCall.call);

// Until the server has worked out what was written last; `revision`: there has to be a later one.
async function settled(page, revision = 0) {
  for (let waited_ms = 0; waited_ms < guard_ms; waited_ms += 20) {
    const call = await callOf(page);
    if (!call.working && call.revision > revision) return call;
    await page.waitForTimeout(20);
  }
  throw new Error(`never settled: ${await page.textContent('#refused')} ${JSON.stringify(await callOf(page)).slice(0, 400)}`);
}

async function write(page, text) {
  const { revision } = await callOf(page);
  await page.keyboard.type(text);
  await page.keyboard.press('Enter');
  return settled(page, revision);
}

async function objections(page) {
  await page.evaluate(axe.source);
  const result = await page.evaluate((runOnly) => window.axe.run(document, { runOnly }), tags);
  assert.ok(result.passes.length > 15, 'axe did look');
  return result.violations.flatMap(({ id, nodes }) => nodes.map(({ target, failureSummary }) => `${id}: ${target} ${failureSummary}`));
}

const tooWide = (page) => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
const tooSmall = (page) => page.evaluate(() => [...document.querySelectorAll('button, input, select, summary, [role=option]')]
  .filter((node) => node.getClientRects().length > 0).map((node) => ({ what: node.outerHTML.slice(0, 80), box: node.getBoundingClientRect() }))
  .filter(({ box }) => box.width < 43.5 || box.height < 43.5).map(({ what, box }) => `${box.width}x${box.height} ${what}`));

// What was really done: nobody held the button of the stage spots.
const story = [{ hold: 'P1 set', for: '3s' }, { hold: 'M1 local', for: '4s' }, { press: 'P1 up' }, { press: 'P1 accept' },
  { hold: 'M2 local', for: '4s' }, { press: 'P1 up' }, { press: 'P1 accept' }, { press: 'P1 two' }, { hold: 'P2 set', for: '3s' },
  { hold: 'M3 local', for: '4s' }, { press: 'P2 up' }, { press: 'P2 accept' }, { press: 'P2 up' }, { press: 'P2 up' }, { press: 'P2 up' },
  { press: 'P2 accept' }, { press: 'P2 two' }, { press: 'P2 down' }, { wait: '2s' }];
// And what is told of it, as fast as it is typed.
const told = ['addr hall', 'addr stage', 'pr st pl do', '2 s', 'bat off', 'spots on', 'com spots ne re'];

test('from an empty page to proved right, by keyboard alone; the terminal would have asked the same', { timeout: 4 * guard_ms }, async () => {
  const file = join(folder, 'call.yaml');
  const server = await startServer(['call', file, '--page', '--site', hall]);
  const page = await openPage(server.url);
  assert.equal(await page.evaluate(() => document.activeElement.id), 'line');
  assert.deepEqual(await objections(page), [], 'nothing is told yet');
  await page.screenshot({ path: join(shots, 'call-empty.png') });

  // All of them are new: said by the keyboard, too.
  for (let i = 0; i < 6 && await page.evaluate(() => document.activeElement.textContent) !== 'they are all new'; ++i) await page.keyboard.press('Tab');
  await page.keyboard.press('Enter');
  assert.equal((await settled(page, 1)).before, 'none');
  await page.focus('#line');
  for (const words of told) await write(page, words);
  let call = await callOf(page);
  assert.deepEqual(call.told.map(({ kind, text }) => `${kind} ${text}`), ['done addressed Hall pendants, Hall wall lights with Hall plate',
    'done addressed Stage battens, Stage spots with Stage plate', 'done press Stage plate down', 'done wait about 2 s', 'seen Stage battens is off',
    'seen Stage spots is on', 'complaint Stage spots never reacts']);
  assert.equal(call.stage, 'check');
  assert.deepEqual(await objections(page), [], 'a question');
  await page.screenshot({ path: join(shots, 'call-question.png') });

  // There and back again: the same question.
  const first = call.question;
  await write(page, 'c');
  assert.notEqual((await callOf(page)).question, first);
  call = await write(page, 'b');
  assert.equal(call.question, first);

  const caller = new Truth({ story, alter: () => {}, folder });
  const compared = new Set();
  let answers = 0;
  while (call.stage !== 'proved') {
    assert.ok(++answers < 80, `it goes on and on: ${call.question}`);
    if (call.stage === 'check' || !compared.has(call.stage)) {
      compared.add(call.stage);
      const terminal = atTheTerminal(file);
      assert.deepEqual([terminal.stage, terminal.question, terminal.step], [call.stage, call.question, call.step]);
      if (call.stage === 'cure') assert.deepEqual(await objections(page), [], 'a step that is dictated');
      await page.screenshot({ path: join(shots, `call-${call.stage}.png`) });
    }
    if (call.stage === 'check') {
      const { answer, saw } = caller.answer(file);
      const { revision } = call;
      await page.keyboard.type(answer === 'yes' ? 'y' : 'n');
      await page.keyboard.press('Enter');
      if (answer === 'no' && call.lacks.no === 'sight') {
        await page.locator('#more').waitFor();
        await page.keyboard.type(saw);
        await page.keyboard.press('Enter');
      }
      call = await settled(page, revision);
    } else {
      assert.notEqual(call.stage, 'no-cure');
      call = await write(page, call.stage === 'cure' ? 'd' : 'y');
    }
  }
  assert.deepEqual([...compared], ['check', 'cure', 'proof']);
  assert.deepEqual(await objections(page), [], 'proved');
  await page.screenshot({ path: join(shots, 'call-proved.png') });

  // The file is what the other commands read, and a page that is opened anew stands where this one does.
  const terminal = atTheTerminal(file);
  assert.ok(terminal.proved);
  assert.deepEqual(terminal.explanations, call.explanations);
  const diagnosed = drybus(['diagnose', file, '--format', 'json']);
  assert.equal(diagnosed.code, 0, diagnosed.err);
  assert.ok(JSON.parse(diagnosed.out).explanations.length > 0);
  assert.match(readFileSync(file, 'utf8'), /\n- proof: /);
  await page.reload();
  await page.waitForSelector('body.ready');
  assert.equal((await settled(page)).stage, 'proved');
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await server.stop();
});

test('it is read and used at 1280 by 720 and on a telephone upright, in light, dark and grey', { timeout: 4 * guard_ms }, async () => {
  const file = join(folder, 'looks.yaml');
  const server = await startServer(['call', file, '--page', '--site', hall]);
  for (const [width, height] of [[1280, 720], [390, 844]]) {
    const page = await openPage(server.url, { width, height, hasTouch: width < 500 });
    if ((await callOf(page)).told.length === 0) {
      await page.focus('#line');
      for (const words of ['pr ha pl up', '2 s', 'per wall off']) await write(page, words);
    }
    await settled(page);
    await page.getByRole('button', { name: /something else/ }).click();
    await page.locator('#more').waitFor();
    await page.locator('.device-name').first().click();
    if (width > 500) await page.locator('.chip').last().click();
    for (const colours of ['light', 'dark', 'grey']) {
      await page.selectOption('#colours', colours);
      assert.deepEqual(await objections(page), [], `${colours}, ${width} wide`);
      await page.screenshot({ path: join(shots, `call-${colours}-${width}.png`) });
    }
    assert.ok(await tooWide(page) <= 0, `${width} wide`);
    assert.deepEqual(await tooSmall(page), []);
    assert.deepEqual(page.problems, []);
    // Every stop of the keyboard shows where it is.
    await page.focus('#line');
    for (let i = 0; i < 12; ++i) {
      await page.keyboard.press('Tab');
      assert.ok(await page.evaluate(() => document.activeElement === document.body || getComputedStyle(document.activeElement).outlineStyle !== 'none'));
    }
    if (width > 500) {
      await page.getByRole('button', { name: 'keys and words' }).click();
      assert.deepEqual(await objections(page), [], 'a dialog');
      // The check can say no.
      await page.evaluate(() => document.querySelector('#enter').replaceChildren());
      await page.keyboard.press('Escape');
      assert.ok((await objections(page)).some((text) => text.startsWith('button-name')));
    }
    await closePage(page);
  }
  await server.stop();
});

test('with fingers: devices, chips and answers; what was refused stays in the line', { timeout: 4 * guard_ms }, async () => {
  const file = join(folder, 'fingers.yaml');
  const server = await startServer(['call', file, '--page', '--site', hall]);
  const page = await openPage(server.url, { width: 390, height: 844, hasTouch: true });
  await page.locator('.device-name', { hasText: 'Stage plate' }).tap();
  await page.getByRole('button', { name: 'Stage plate: press up (on)', exact: true }).tap();
  await page.locator('.device-name', { hasText: 'Stage spots' }).tap();
  await page.getByRole('button', { name: 'Stage spots: is off', exact: true }).tap();
  let call = await settled(page, 2);
  assert.deepEqual(call.told.map(({ text }) => text), ['press Stage plate up', 'Stage spots is off']);
  await comes(() => page.locator('.device-name', { hasText: 'Stage spots' }).textContent(), /is off/);

  await page.locator('.chip').last().tap();
  await page.getByRole('button', { name: 'nobody is sure' }).tap();
  call = await settled(page, call.revision);
  assert.ok(call.told[1].unsure);
  await page.locator('.chip').first().tap();
  await page.getByRole('button', { name: 'write before this' }).tap();
  call = await write(page, 'power off');
  assert.deepEqual(call.told.map(({ text }) => text), ['power off', 'press Stage plate up', 'Stage spots is off']);
  await page.locator('.chip').first().tap();
  await page.getByRole('button', { name: 'take out' }).tap();
  call = await settled(page, call.revision);
  assert.equal(call.told.length, 2);

  await page.focus('#line');
  await page.keyboard.type('Cellar is on');
  await page.keyboard.press('Enter');
  await page.locator('#refused', { hasText: 'Cellar' }).waitFor();
  assert.equal(await page.inputValue('#line'), 'Cellar is on');
  await page.keyboard.press('Escape');

  // Somebody at the terminal goes on with the same file: the page shows it.
  writeFileSync(join(folder, 'one.txt'), 'cannot\n');
  assert.equal(drybus(['call', file, '--answers', join(folder, 'one.txt')]).code, 0);
  call = await settled(page, call.revision);
  assert.equal(call.answered.length, 1);
  await page.getByRole('button', { name: 'back a step' }).tap();
  call = await settled(page, call.revision);
  assert.equal(call.answered.length, 0);
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await server.stop();
});
