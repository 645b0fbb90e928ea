// Ten thousand devices: the page opens, has the rooms that are looked at and no others, and follows the installer.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { test } from 'node:test';
import { objections } from '../objections.mjs';
import { ask, closePage, drawn, openPage, shots, startPanel, stateOf, until } from '../support.mjs';

const source = process.env.DRYBUS_SOURCE;
const most_letter_bytes = 500_000;

// So many rooms with a plate and modules in each, and so many rooms on each bus.
function building(rooms, each, per_bus) {
  const all = Array.from({ length: rooms }, (_, i) => ({ place: `room ${i + 1}`, plate: `P${i + 1}`,
    modules: Array.from({ length: each - 1 }, (__, j) => `M${i * (each - 1) + j + 1}`) }));
  const buses = Array.from({ length: rooms / per_bus }, (_, i) => all.slice(i * per_bus, (i + 1) * per_bus));
  return ['drybus: 1', 'title: A building of ten thousand', 'family: wired-keypad', 'seed: 1', 'site:', '  places:',
    ...all.map(({ place }, i) => `    ${place}: {${i > 0 ? `walk: {room ${i}: 10s}` : ''}}`), '  plates:',
    ...all.map(({ place, plate }, i) => `    ${plate}: {place: ${place}, switches: {site: ${1 + i % 60}, zone: ${1 + Math.floor(i / 60)}}}`), '  modules:',
    ...all.flatMap(({ place, modules }) => modules.map((name) => `    ${name}: {place: ${place}}`)), '  bus:',
    ...buses.map((bus) => `    - {line: [${bus.flatMap(({ plate, modules }) => [plate, ...modules]).join(', ')}]}`),
    'script:', '  - press: P1 up', ''].join('\n');
}

test('a site of ten thousand devices is told in parts', async (t) => {
  const folder = mkdtempSync(join(tmpdir(), 'drybus-large-'));
  const path = join(folder, 'large.yaml');
  writeFileSync(path, building(250, 40, 5));
  const started = performance.now();
  const panel = await startPanel(relative(join(source, 'scenarios'), path));
  t.diagnostic(`the panel was there after ${((performance.now() - started) / 1000).toFixed(1)} s`);
  const letters = [];
  const opened = performance.now();
  const page = await openPage(panel.url, {}, (each) => each.on('websocket', (socket) => socket.on('framereceived', ({ payload }) => letters.push(payload.length))));
  await page.waitForSelector('.rooms .device');
  t.diagnostic(`the page showed its first room after ${((performance.now() - opened) / 1000).toFixed(1)} s`);
  assert.match(await page.locator('.large-site').innerText(), /10000 devices in \d+ rooms/);
  const shown = await page.locator('.rooms .device').count();
  assert.ok(shown > 0 && shown <= 41, `${shown} devices shown`);
  const places = await page.evaluate(() => window.drybusPanel.large.whole.places.map(({ name }) => name));
  await page.fill('.large-site input', places[7]);
  await page.locator(`[data-room="${places[7]}"]`).click();
  await page.waitForFunction((name) => window.drybusPanel.bench.hello.places.some((place) => place.name === name), places[7]);
  assert.ok(await page.locator('.rooms .device').count() > shown);
  await drawn(page);
  await page.screenshot({ path: join(shots, 'large.png') });
  assert.deepEqual(await objections(page), []);
  const before = letters.length;
  await ask(page, { do: 'walk', place: places[3] });
  await ask(page, { do: 'speed', speed: 100 });
  await ask(page, { do: 'play' });
  await until(page, '(state, place) => state.people[0].place === place', places[3]);
  await page.waitForFunction((name) => window.drybusPanel.bench.hello.places.some((place) => place.name === name), places[3]);
  assert.ok(letters.length > before);
  t.diagnostic(`${letters.length} letters, the largest ${Math.max(...letters)} bytes`);
  assert.ok(Math.max(...letters) < most_letter_bytes);
  assert.ok(Object.keys((await stateOf(page)).devices).length < 140);
  assert.deepEqual(page.problems, []);
  await closePage(page);
  await panel.stop();
  rmSync(folder, { recursive: true });
});
