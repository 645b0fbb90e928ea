// A lesson as one page, opened from the disk: every lesson that ships has the digest that the program has, and can be played.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { closePage, openPage, shots } from './support.mjs';

const program = process.env.DRYBUS_PROGRAM;
const source = process.env.DRYBUS_SOURCE;
const most_bytes = 3_000_000;
// Without emscripten there is no bench for browsers, and `drybus lesson` says so.
const built = existsSync(join(dirname(program), 'lesson-bench', 'lesson_bench.wasm.gz'));
const lessons = readdirSync(join(source, 'scenarios/lessons')).sort();
const folder = mkdtempSync(join(tmpdir(), 'drybus-lesson-'));

function run(...words) {
  const ran = spawnSync(program, words, { encoding: 'utf8' });
  assert.equal(ran.status, 0, ran.stderr);
  return ran.stdout;
}

async function open(name, size) {
  const path = join(folder, `${name}.html`);
  run('lesson', join(source, 'scenarios/lessons', name), '-o', path);
  const page = await openPage(pathToFileURL(path).href, size);
  await page.waitForSelector('.lesson h2:not(:empty)');
  return page;
}

const told = (name) => JSON.parse(run('teach', join(source, 'scenarios/lessons', name), '--format', 'json'));

test('without the bench for browsers it is said what to install', { skip: built }, () => {
  const ran = spawnSync(program, ['lesson', join(source, 'scenarios/lessons', lessons[0]), '-o', join(folder, 'l.html')], { encoding: 'utf8' });
  assert.equal(ran.status, 2);
  assert.match(ran.stderr, /emscripten/);
});

test('every lesson has the digest that drybus run has, and asks nobody for anything', { skip: !built }, async () => {
  for (const name of lessons) {
    const page = await open(name);
    const digest = await page.evaluate(() => window.drybusPanel.connection.digest());
    const { digest: expected } = JSON.parse(run('run', told(name).story, '--format', 'json'));
    assert.equal(digest, expected, name);
    assert.deepEqual(page.problems, [], name);
    const html = readFileSync(join(folder, `${name}.html`), 'utf8');
    assert.ok(statSync(join(folder, `${name}.html`)).size < most_bytes, name);
    assert.doesNotMatch(html, /(src|href)="https?:/);
    assert.ok(!html.includes(source), 'no folder of ours is named');
    await closePage(page);
  }
});

test('every question of every lesson that is answered in words is answered', { skip: !built }, async () => {
  for (const name of lessons) {
    const page = await open(name);
    for (const { kind, right } of told(name).questions) {
      if (kind === 'press') break;
      const { verdict } = await page.evaluate((text) => window.drybusPanel.connection.ask({ do: 'lesson', ask: 'answer', text }),
        right[0].split(', or at most')[0]);
      assert.equal(verdict, 'right', `${name}: ${right[0]}`);
    }
    await closePage(page);
  }
});

test('a pupil goes through a lesson: wrong, a hint, right, and presses it alone', { skip: !built }, async () => {
  const page = await open('one-step-too-far.yaml');
  const lesson = page.locator('.lesson');
  await lesson.getByText('go straight there').click();
  await lesson.locator('input').fill('1');
  await lesson.getByText('answer', { exact: true }).click();
  await lesson.getByText('Once more').waitFor();
  await lesson.getByText('a hint').click();
  await lesson.getByText('How often was up pressed').waitFor();
  await page.screenshot({ path: join(shots, 'lesson-asked.png') });
  await lesson.locator('input').fill('2');
  await lesson.getByText('answer', { exact: true }).click();
  await lesson.getByText('That is right.').waitFor();
  await lesson.getByText('go on').click();
  await lesson.locator('.choice').nth(1).click();
  await lesson.getByText('That is right.').waitFor();
  await page.screenshot({ path: join(shots, 'lesson-told.png') });
  await lesson.getByText('go on').click();
  const ask = (message) => page.evaluate((each) => window.drybusPanel.connection.ask(each), message);
  await ask({ do: 'speed', speed: 4 });
  for (const [device, button, for_s] of [['M1', 'local', 3.7], ['P1', 'down', 0.2], ['P1', 'accept', 0.2], ['P1', 'two', 0.2]]) {
    await ask({ do: 'press_for', device, buttons: [button], for_s });
    await ask({ do: 'play' });
    await page.waitForFunction(() => window.drybusPanel.bench.state.people[0].free);
  }
  await lesson.getByText('done: judge it').click();
  await lesson.getByText('That is right.').waitFor();
  await lesson.getByText('go on').click();
  await lesson.getByText('3 of 3 right').waitFor();
  await page.screenshot({ path: join(shots, 'lesson-over.png') });
  assert.deepEqual(page.problems, []);
  await closePage(page);
  rmSync(folder, { recursive: true });
});
