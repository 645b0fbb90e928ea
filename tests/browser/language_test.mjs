// The page in German: by --language, or as the browser would rather read; nothing in English is left, and nothing is cut off.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { objections } from './objections.mjs';
import { ask, closePage, comes, drawn, openPage, shots, startPanel, until } from './support.mjs';

const program = process.env.DRYBUS_PROGRAM;
const source = process.env.DRYBUS_SOURCE;
const built = existsSync(join(dirname(program), 'lesson-bench', 'lesson_bench.wasm.gz'));

// What is written in English in the catalogue, without placeholders, and told otherwise in German.
const catalogue = readFileSync(join(source, 'tools/words/de.po'), 'utf8').split('\n\n').map((block) => {
  const joined = (key) => (block.match(new RegExp(`^${key} ((?:"(?:[^"\\\\]|\\\\.)*"\\n?)+)`, 'm'))?.[1].match(/"((?:[^"\\]|\\.)*)"/g) ?? [])
    .map((part) => part.slice(1, -1)).join('');
  return [joined('msgid').trim(), joined('msgstr').trim()];
}).filter(([written, told]) => written && told && written !== told && !written.includes('{'));
// Single letters are names of keys, wherever else the catalogue has them.
const english = new Set(catalogue.map(([written]) => written).filter((written) => /[a-z]/.test(written) && written.length > 1));
const german = new Set(catalogue.map(([, told]) => told));

// Every text that is on the page or read out, whole.
const texts = (page) => page.evaluate(() => {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const { parentElement: parent, data } = walker.currentNode;
    if (!parent.closest('script, style, noscript')) found.push(data.trim());
  }
  for (const node of document.querySelectorAll('[aria-label]')) found.push(node.getAttribute('aria-label').trim());
  return found.filter(Boolean);
});

// Buttons and headings whose words do not fit into them.
const cut = (page) => page.evaluate(() => [...document.querySelectorAll('button, h1, h2, h3, h4, .mode, .facts, .word, .says, dt, dd, legend')]
  .filter((node) => node.getClientRects().length > 0 && !node.closest('.visually-hidden') && getComputedStyle(node).overflow !== 'visible'
    && (node.scrollWidth > node.clientWidth + 1 || node.scrollHeight > node.clientHeight + 1))
  .map((node) => node.outerHTML.slice(0, 120)));
const wide = (page) => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);

async function isGerman(page, what) {
  assert.equal(await page.evaluate(() => document.documentElement.lang), 'de');
  const all = await texts(page);
  // A button's name may be an English word, as in the family's file.
  const buttons = await page.evaluate(() => [...document.querySelectorAll('.cap')].map((node) => node.textContent));
  assert.deepEqual(all.filter((text) => english.has(text) && !german.has(text) && !buttons.includes(text)), [], what);
  assert.ok(all.some((text) => german.has(text)), `${what}: something is in German`);
  assert.deepEqual(await cut(page), [], what);
  assert.ok(await wide(page) <= 0, `${what}: ${await wide(page)} px too wide`);
}

test('a class speaks German: the bench, its story, a finding, dialogs', async () => {
  const panel = await startPanel('training/setup-split.yaml', ['--language', 'de']);
  const page = await openPage(panel.url);
  await drawn(page);
  await page.screenshot({ path: join(shots, 'german-start.png') });
  await isGerman(page, 'at the start');
  await page.locator('[data-device="P1"] .more').click();
  await page.screenshot({ path: join(shots, 'german-device.png') });
  assert.match(await page.locator('.caution').innerText(), /Spannungsfreiheit feststellen/);
  await isGerman(page, 'the dialog of a device');
  await page.keyboard.press('Escape');
  await page.click('#help');
  await page.screenshot({ path: join(shots, 'german-help.png') });
  await isGerman(page, 'the keys');
  await page.keyboard.press('Escape');
  await ask(page, { do: 'demo', pause_at: ['finding'], hurry: true });
  await ask(page, { do: 'speed', speed: 10000 });
  await until(page, (state) => state.pause?.points[0].kind === 'finding');
  await ask(page, { do: 'answer' });
  await page.locator('.finding').first().waitFor();
  await page.locator('.finding summary').first().click();
  await drawn(page, 2500);
  await page.screenshot({ path: join(shots, 'german-finding.png') });
  await isGerman(page, 'a finding');
  const finding = await page.evaluate(() => window.drybusPanel.bench.state.findings.find(({ id }) => id === 'setup-split'));
  assert.match(finding.text, /ist nicht mehr im Lernmodus, während/);
  assert.match(finding.remedy, /bis die Anzeige blinkt/);
  assert.deepEqual(await objections(page), []);
  await page.click('#curtain');
  await drawn(page, 2500);
  await page.screenshot({ path: join(shots, 'german-curtain.png') });
  await isGerman(page, 'the curtain');
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
});

test('who opens the page first settles the language of the class; what is refused is told in it', async () => {
  const panel = await startPanel('lessons', ['--listen', '127.0.0.1']);
  const trainer = await openPage(panel.lead, { locale: 'de-AT' });
  const pupil = await openPage(panel.join, { locale: 'en-GB', width: 390, height: 844 });
  await trainer.getByText('Ein Teilnehmer ist hier: Teilnehmer').waitFor();
  await isGerman(trainer, 'the list');
  await trainer.screenshot({ path: join(shots, 'german-list.png') });
  await isGerman(pupil, 'who waits');
  await trainer.locator('.shelf').getByRole('button', { name: /ein Platz für jeden\s+One step too far/ }).click();
  await pupil.waitForSelector('.lesson h2:not(:empty)');
  await trainer.waitForSelector('[data-bench]:nth-child(2)');
  await drawn(trainer, 2500);
  await trainer.screenshot({ path: join(shots, 'german-class.png') });
  await isGerman(trainer, 'the class');
  await assert.rejects(ask(pupil, { do: 'curtain', drawn: false }), /wenn die Fragen vorbei sind/);
  await pupil.getByText('gleich dorthin').click();
  await pupil.locator('.lesson input').fill('7');
  await pupil.locator('.lesson').getByRole('button', { name: 'antworten', exact: true }).click();
  await pupil.getByText('Das stimmt nicht. Noch einmal.').waitFor();
  await pupil.screenshot({ path: join(shots, 'german-pupil.png') });
  await isGerman(pupil, 'a pupil');
  await comes(() => trainer.locator('.benches').innerText(), /Frage 1 von 3, 1 falsch/);
  for (const page of [trainer, pupil]) assert.deepEqual(page.problems, []);
  for (const page of [trainer, pupil]) await closePage(page);
  await panel.stop();
});

test('a lesson that travels speaks German, and its digest is that of the program', { skip: !built }, async () => {
  const folder = mkdtempSync(join(tmpdir(), 'drybus-german-'));
  const path = join(folder, 'lesson.html');
  const lesson = join(source, 'scenarios/lessons/one-step-too-far.yaml');
  assert.equal(spawnSync(program, ['lesson', lesson, '-o', path, '--language', 'de']).status, 0);
  assert.ok(statSync(path).size < 3_000_000);
  const page = await openPage(pathToFileURL(path).href);
  await page.waitForSelector('.lesson h2:not(:empty)');
  await page.getByText('gleich dorthin').click();
  await page.locator('.lesson input').fill('2');
  await page.locator('.lesson').getByText('antworten', { exact: true }).click();
  await page.getByText('Das ist richtig.').waitFor();
  await drawn(page, 2500);
  await page.screenshot({ path: join(shots, 'german-travels.png') });
  await isGerman(page, 'a lesson that travels');
  const { story } = JSON.parse(spawnSync(program, ['teach', lesson, '--format', 'json'], { encoding: 'utf8' }).stdout);
  const { digest } = JSON.parse(spawnSync(program, ['run', story, '--format', 'json'], { encoding: 'utf8' }).stdout);
  assert.equal(await page.evaluate(() => window.drybusPanel.connection.digest()), digest);
  assert.deepEqual(page.problems, []);
  await closePage(page);
  rmSync(folder, { recursive: true });
});
