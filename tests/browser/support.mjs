// A panel to test, a browser to test it in. What has to come is waited for, however long a busy machine takes: `guard_ms` is there so
// that a test which waits in vain ends, and measures nothing.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after } from 'node:test';
import { chromium } from 'playwright-core';

const program = process.env.DRYBUS_PROGRAM;
const source = process.env.DRYBUS_SOURCE;
export const shots = process.env.DRYBUS_SHOTS;
export const guard_ms = 240_000;

let browser = null; // a promise, so that pages which open at once share one
const running = new Set();
after(async () => {
  await (await browser)?.close();
  for (const child of running) child.kill('SIGINT');
});

// `drybus panel` on a free port; resolves when it says where.
export const startPanel = (scenario, options = []) => startServer(['panel', join(source, 'scenarios', scenario)], options);

// The same for any command that serves a page.
export function startServer(words, options = []) {
  const child = spawn(program, [...words, '--port', '0', ...options]);
  running.add(child);
  let told = '';
  return new Promise((resolve, reject) => {
    const hear = (data) => {
      told += data;
      const url = told.match(/http:\/\/[^\s]+/)?.[0];
      // Where somebody leads, it says their link last.
      const lead = told.match(/you lead (http:\/\/\S+)/)?.[1];
      const led = options.includes('--listen');
      if (url && (!led || lead)) {
        resolve({ url, lead, join: told.match(/join at (http:\/\/\S+)/)?.[1], watch: told.match(/onlookers at (http:\/\/\S+)/)?.[1],
          told, stop: () => stop(child) });
      }
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.on('exit', (code) => reject(new Error(`drybus panel ended with ${code}: ${told}`)));
  });
}

// Interrupted as by Ctrl-C; resolves to its exit code.
function stop(child) {
  running.delete(child);
  return new Promise((resolve) => {
    child.on('exit', resolve);
    child.kill('SIGINT');
  });
}

// `before`: something to be done with the page before it is loaded.
export async function openPage(url, { width = 1280, height = 720, ...options } = {}, before = () => {}) {
  browser ??= chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'], timeout: guard_ms });
  const context = await (await browser).newContext({ viewport: { width, height }, ...options });
  context.setDefaultTimeout(guard_ms);
  const page = await context.newPage();
  page.problems = [];
  before(page);
  page.on('console', (message) => message.type() === 'error' && page.problems.push(message.text()));
  page.on('pageerror', (error) => page.problems.push(error.stack));
  const home = url.startsWith('file:') ? url : new URL(url).origin;
  page.on('request', (request) => {
    if (!request.url().startsWith(home) && !request.url().startsWith('blob:')) page.problems.push(request.url());
  });
  await page.goto(url);
  await page.waitForSelector('body.ready');
  return page;
}

export const closePage = (page) => page.context().close();

// What the page holds of the bench.
export const stateOf = (page) => page.evaluate(() => structuredClone(window.drybusPanel.bench.state));

// Waits until the page's state is so; the condition is a function of (state, argument). It is sent as text, as the page's
// policy lets nothing else be made into code.
export async function until(page, condition, argument = null, timeout_ms = guard_ms) {
  const asked = `(${condition})(window.drybusPanel.bench.state, ${JSON.stringify(argument)})`;
  const end = Date.now() + timeout_ms;
  while (!await page.evaluate(asked)) {
    if (Date.now() > end) throw new Error(`never so: ${condition}; ${JSON.stringify(await shortState(page))}`);
    await page.waitForTimeout(30);
  }
}

// Waits until what is read is as expected: equal to it, or matched by it.
export async function comes(read, expected) {
  const fits = (value) => expected instanceof RegExp ? expected.test(value) : Object.is(value, expected);
  const end = Date.now() + guard_ms;
  let value = await read();
  while (!fits(value) && Date.now() < end) {
    await new Promise((after) => { setTimeout(after, 30); });
    value = await read();
  }
  if (expected instanceof RegExp) assert.match(value, expected);
  else assert.equal(value, expected);
}

// Until the page has drawn what it knows by now: the flash limiter lets most of it change once a second.
export const drawn = (page, wait_ms = 1300) => page.evaluate((ms) => new Promise((done) => {
  setTimeout(() => requestAnimationFrame(() => requestAnimationFrame(() => done())), ms);
}), wait_ms);

// What helps to see why something was never so.
const shortState = (page) => page.evaluate(() => {
  const { clock, people, devices, branch, pause } = window.drybusPanel.bench.state;
  const modes = Object.fromEntries(Object.entries(devices).map(([name, { hidden, indicator }]) => [name, [hidden?.mode, indicator?.pattern]]));
  return { clock, installer: people[0], modes, branch, pause, notice: document.querySelector('#notices').textContent };
});

export const key = (page, device, button) => page.locator(`[data-device="${device}"] [data-button="${button}"]`).first();

const clockOf = (page) => page.evaluate(() => window.drybusPanel.clock.now_s(performance.now()));

// Until the installer has held for so long on the run's clock: a busy machine is slow, the run is not.
export async function whileHeld(page, held_s) {
  await until(page, (state) => state.people[0].doing?.end_s === null && state.clock.playing);
  const from_s = (await stateOf(page)).people[0].doing.begin_s;
  while (await clockOf(page) < from_s + held_s) await page.waitForTimeout(30);
}

// The mouse goes down on it. Rooms fold and notices come and go: what moved away in between is tried again.
export async function mouseDown(page, spot) {
  for (;;) {
    await spot.hover(); // a room unfolds when somebody comes
    await spot.evaluate((node) => {
      window.fingerIsOn = null;
      addEventListener('pointerdown', ({ target }) => { window.fingerIsOn = node.contains(target); }, { capture: true, once: true });
    });
    await page.mouse.down();
    if (await page.evaluate(() => window.fingerIsOn)) return;
    await page.mouse.up();
  }
}

// A finger of the mouse on a button, as long as said on the run's clock.
export async function holdWithMouse(page, device, button, held_s) {
  await mouseDown(page, key(page, device, button));
  await whileHeld(page, held_s);
  await page.mouse.up();
}

export const ask = (page, message) => page.evaluate((each) => window.drybusPanel.connection.ask(each), message);

// What `drybus run` makes of a scenario's text.
export function runText(text) {
  const folder = mkdtempSync(join(tmpdir(), 'drybus-panel-'));
  const path = join(folder, 'saved.yaml');
  writeFileSync(path, text);
  const ran = spawnSync(program, ['run', path, '--format', 'json'], { encoding: 'utf8',
    env: { ...process.env, DRYBUS_FAMILIES: join(source, 'scenarios/families') } });
  rmSync(folder, { recursive: true });
  if (ran.status === 2) throw new Error(ran.stderr);
  return JSON.parse(ran.stdout);
}
