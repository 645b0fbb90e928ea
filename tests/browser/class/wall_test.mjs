// The wall at 1280x720: every lesson and every training scenario is one screen, its sentence can be read from eight metres, nothing is
// wrong with it for axe-core. On a phone nothing is wider than the screen. Pictures of each are left to be looked at.
import assert from 'node:assert/strict';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { test } from 'node:test';
import { filmed } from '../film.mjs';
import { measured } from '../machine.mjs';
import { objections } from '../objections.mjs';
import { ask, closePage, drawn, guard_ms, openPage, shots, startPanel, stateOf } from '../support.mjs';

const source = process.env.DRYBUS_SOURCE;
const shot = (page, name) => page.screenshot({ path: join(shots, `wall-${name}.png`) });

const cut = (page) => page.evaluate(() => {
  const views = document.querySelector('.views');
  return { rooms: views.scrollHeight - views.clientHeight, page: document.documentElement.scrollHeight - innerHeight,
    wide: document.documentElement.scrollWidth - innerWidth };
});

// Of capitals, on a picture two metres wide: what they are in minutes of arc from eight metres. DejaVu Sans: 0.729 of its size.
const arcminutes = (page) => page.evaluate(() => {
  const size_px = parseFloat(getComputedStyle(document.querySelector('.says')).fontSize);
  return Math.atan(size_px * 0.729 * 2 / innerWidth / 8) * 180 * 60 / Math.PI;
});

async function look(page, name, axe) {
  // It folds as far as it takes, once nothing races any more.
  await drawn(page, 1500);
  for (const end = Date.now() + guard_ms; Date.now() < end;) {
    const { rooms, page: below, wide } = await cut(page);
    if (rooms <= 1 && below <= 0 && wide <= 0) break;
    await drawn(page, 100);
  }
  const { rooms, page: below, wide } = await cut(page);
  assert.ok(rooms <= 1 && below <= 0 && wide <= 0, `${name}: cut off by ${rooms}, ${below}, ${wide} px`);
  assert.ok(await arcminutes(page) >= 20, `${name}: ${await arcminutes(page)} minutes of arc`);
  if (axe) assert.deepEqual(await objections(page), [], name);
}

// To where the lesson asks, unless that is the start.
async function goStraight(page) {
  await page.waitForSelector('.lesson h2:not(:empty)');
  if (await page.locator('.straight').count() > 0) await page.locator('.straight').click();
  await page.waitForSelector('.lesson .hint', { state: 'attached' });
}

// Opens some of a folder's files, one after another.
async function lookAtAll(folder, isWanted) {
  const files = readdirSync(join(source, 'scenarios', folder)).filter((name) => name.endsWith('.yaml')).sort();
  const panel = await startPanel(folder);
  const page = await openPage(panel.url);
  for (const [index, file] of files.entries()) {
    if (!isWanted(index)) continue;
    await page.evaluate(() => { window.siteBefore = window.drybusPanel.site ?? null; });
    await ask(page, { do: 'open', offer: index + 1 });
    await page.waitForFunction(() => (window.drybusPanel.site ?? null) !== window.siteBefore);
    await page.waitForSelector('body:not(.choosing) .rooms');
    if (folder === 'lessons') {
      await goStraight(page);
      await page.evaluate(() => window.drybusPanel.wall.set(true));
    } else {
      await page.evaluate(() => window.drybusPanel.wall.set(true));
      await ask(page, { do: 'demo', pause_at: ['note', 'finding'], hurry: true });
      await ask(page, { do: 'speed', speed: 10000 });
      await page.waitForFunction(() => window.drybusPanel.bench.state.pause);
    }
    await look(page, file, index < 2);
    await shot(page, `${folder}-${file.replace('.yaml', '')}`);
    await page.evaluate(() => window.drybusPanel.wall.set(false));
  }
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
}

test('every lesson and every training scenario is one screen on the wall', async () => {
  await Promise.all([lookAtAll('lessons', () => true), lookAtAll('training', (index) => index % 2 === 0),
    lookAtAll('training', (index) => index % 2 === 1)]);
});

// Sixty devices in twelve rooms, as a village hall has them.
function hall(rooms, each) {
  const names = Array.from({ length: rooms }, (_, i) => `room ${i + 1}`);
  const modules = names.flatMap((place, i) => Array.from({ length: each - 1 }, (_, j) => ({ name: `M${i * (each - 1) + j + 1}`, place })));
  const plates = names.map((place, i) => ({ name: `P${i + 1}`, place, zone: i + 1 }));
  return ['drybus: 1', 'title: A hall with many rooms', 'family: wired-keypad', 'seed: 1', 'site:', '  places:',
    ...names.map((name) => `    ${name}: {}`), '  plates:',
    ...plates.map(({ name, place, zone }) => `    ${name}: {label: Plate of ${place}, place: ${place}, switches: {site: 23, zone: ${zone}}}`),
    '  modules:', ...modules.map(({ name, place }) => `    ${name}: {label: Light of ${place}, place: ${place}}`),
    `  bus: {line: [${[...plates, ...modules].map(({ name }) => name).join(', ')}]}`,
    'script:', '  - hold: P1 set', '    for: 2.7s', '  - note: Which of the sixty show that they are meant, and why only these?', ''].join('\n');
}

test('sixty devices are one screen on the wall', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'drybus-hall-'));
  writeFileSync(join(folder, 'hall.yaml'), hall(12, 5));
  const panel = await startPanel(relative(join(source, 'scenarios'), join(folder, 'hall.yaml')));
  const page = await openPage(panel.url);
  await ask(page, { do: 'demo', pause_at: ['note'] });
  await ask(page, { do: 'speed', speed: 100 });
  await page.waitForFunction(() => window.drybusPanel.bench.state.pause);
  await drawn(page, 2500);
  await shot(page, 'sixty-desk');
  await page.evaluate(() => window.drybusPanel.wall.set(true));
  await look(page, 'sixty', true);
  await shot(page, 'sixty');
  await closePage(page);
  await panel.stop();
  rmSync(folder, { recursive: true });
});

test('the wall flashes no more than three times in any second, in a hurry too', async (t) => {
  const panel = await startPanel('training/setup-split.yaml');
  const page = await openPage(panel.url);
  const decoder = await openPage(panel.url, { bypassCSP: true });
  await decoder.evaluate(() => { document.body.replaceChildren(); });
  await page.evaluate(() => window.drybusPanel.wall.set(true));
  const { outcome: { most, pictures, story_s }, judged, told } = await measured(async () => {
    await ask(page, { do: 'demo', pause_at: ['note'], hurry: true });
    const began_s = (await stateOf(page)).clock.now_s;
    const seen = await filmed(page, decoder, 6000);
    return { ...seen, story_s: (await stateOf(page)).clock.now_s - began_s };
  }, (seen) => seen.most <= 3 && seen.story_s > 30);
  t.diagnostic(`${most} in a second, of ${pictures} pictures; ${story_s.toFixed(0)} s of the story in 6 s; ${told}`);
  if (judged) assert.ok(story_s > 30, `walks and waits are hurried over: ${story_s} s in 6`);
  if (judged) assert.ok(most <= 3);
  await closePage(page);
  await closePage(decoder);
  await panel.stop();
});

test('on a phone, upright and lying, nothing is wider than the screen', async () => {
  const panel = await startPanel('lessons/who-gave-up-first.yaml');
  for (const [width, height] of [[390, 844], [844, 390]]) {
    const page = await openPage(panel.url, { width, height, hasTouch: true, isMobile: true });
    await goStraight(page);
    await drawn(page);
    // A telephone zooms out where a page is too wide: then its window is wider than its screen.
    assert.equal(await page.evaluate(() => Math.max(innerWidth, document.documentElement.scrollWidth)), width);
    assert.deepEqual(await objections(page), [], `${width}x${height}`);
    await page.screenshot({ path: join(shots, `phone-${width}x${height}.png`), fullPage: true });
    await closePage(page);
  }
  await panel.stop();
});
