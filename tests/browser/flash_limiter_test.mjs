// The page's flash limiter against a counter of its own kind: what is shown is written down frame by frame, and flashes
// are counted afterwards as WCAG 2.2 defines them (a pair of opposing changes; at most three within any second).
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { pageModule } from './page_modules.mjs';

const { FlashLimiter, flashesOf, softDepth } = await pageModule('flash_limiter.js');
const { brightness, period_ms } = await pageModule('patterns.js');

const frame_ms = 1000 / 60;
const speeds = [0.25, 0.5, 1, 2, 3, 4, 8, 20, 60, 100, 333, 1000, 3000, 10000];
const timings = {
  blink: { lit_s: 0.5, dark_s: 0.5, soft: false },
  refuse: { lit_s: 0.25, dark_s: 0.25, soft: false },
  breathe: { lit_s: 1.5, dark_s: 1.5, soft: true },
  blip: { lit_s: 0.6, dark_s: 0, soft: false },
  dark: { lit_s: 0, dark_s: 1, soft: false },
};

// Most flashes in any one second, all areas summed. shown: area -> [[ms, brightness], ...] of what changed.
function mostFlashes(shown) {
  const changes = [];
  for (const [area, values] of shown) {
    let way = 0;
    for (let i = 1; i < values.length; ++i) {
      const next = Math.sign(values[i][1] - values[i - 1][1]);
      if (next !== 0 && next !== way) changes.push({ area, at: values[i][0] });
      way = next;
    }
  }
  changes.sort((a, b) => a.at - b.at);
  let most = 0;
  for (let i = 0; i < changes.length; ++i) {
    const each = new Map();
    for (let j = i; j < changes.length && changes[j].at <= changes[i].at + 1000; ++j) {
      each.set(changes[j].area, (each.get(changes[j].area) ?? 0) + 1);
    }
    most = Math.max(most, [...each.values()].reduce((sum, count) => sum + Math.floor(count / 2), 0));
  }
  return most;
}

// A page of indicators for some real seconds; patternOf(device, now_s) says what each does.
function play({ devices, speed, seconds, patternOf, limiter = new FlashLimiter() }) {
  const shown = new Map();
  for (let real = 0; real < seconds * 1000; real += frame_ms) {
    const now_s = real / 1000 * speed;
    const now = devices.map((device) => ({ device, ...patternOf(device, now_s) }));
    const still = limiter.plan(now.filter(({ pattern }) => !timings[pattern].soft && period_ms(timings[pattern], speed) !== null)
      .map(({ device, pattern }) => ({ area: device, pattern, period_ms: period_ms(timings[pattern], speed) })), real);
    for (const { device, pattern, since_s } of now) {
      const light = still.has(pattern) ? 0.5 : brightness(timings[pattern], since_s, now_s);
      if (timings[pattern].soft) continue;  // held to softDepth below
      const values = shown.get(device) ?? [];
      const before = values.at(-1)?.[1] ?? 0;
      if (before !== light && limiter.allowBrightness(device, before, light, real)) values.push([real, light]);
      shown.set(device, values);
    }
  }
  return shown;
}

test('a plate and a module in setup blink freely at the speed of life', () => {
  const shown = play({ devices: ['P1', 'M1'], speed: 1, seconds: 6,
    patternOf: (device) => ({ pattern: 'blink', since_s: device === 'P1' ? 0 : 0.3 }) });
  for (const values of shown.values()) assert.ok(values.length >= 10, `only ${values.length} changes in six seconds`);
  assert.equal(mostFlashes(shown) <= 3, true);
});

for (const speed of speeds) {
  test(`ten devices that blink, refuse and blip flash no more than three times a second at ${speed}×`, () => {
    const devices = Array.from({ length: 10 }, (_, i) => `D${i}`);
    const patternOf = (device, now_s) => {
      const i = Number(device.slice(1));
      const beat = Math.floor(now_s / 5 + i / 3);
      if (i < 3) return { pattern: 'blink', since_s: i * 0.17 };
      if (i === 3) return { pattern: beat % 3 === 0 ? 'refuse' : 'dark', since_s: beat * 5 };
      return { pattern: (now_s + i * 0.05) % 5 < 0.6 ? 'blip' : 'dark', since_s: 0 };
    };
    const most = mostFlashes(play({ devices, speed, seconds: 12, patternOf }));
    assert.ok(most <= 3, `${most} flashes in one second`);
  });
}

test('without the limiter the same page would flash more often: the counter can say no', () => {
  class Open extends FlashLimiter {
    plan() { return new Set(); }
    allow() { return true; }
    allowBrightness() { return true; }
  }
  const most = mostFlashes(play({ devices: ['A', 'B', 'C', 'D'], speed: 2, seconds: 4, limiter: new Open(),
    patternOf: () => ({ pattern: 'blink', since_s: 0 }) }));
  assert.ok(most > 3);
});

test('what blinks too fast keeps still, all of its kind alike', () => {
  const limiter = new FlashLimiter();
  const wanted = (count, speed) => Array.from({ length: count }, (_, i) => ({ area: `D${i}`, pattern: 'blink',
    period_ms: 1000 / speed }));
  assert.deepEqual([...limiter.plan(wanted(2, 1), 0)], []);
  assert.deepEqual([...limiter.plan(wanted(3, 1), 100)], ['blink']);
  assert.deepEqual([...limiter.plan(wanted(2, 1), 200)], ['blink'], 'it does not come back at once');
  assert.deepEqual([...limiter.plan(wanted(2, 1), 5000)], []);
  assert.deepEqual([...limiter.plan(wanted(1, 4), 9000)], ['blink']);
});

test('many areas may change once at the same moment, as when the supply comes on', () => {
  const limiter = new FlashLimiter();
  for (let i = 0; i < 40; ++i) assert.ok(limiter.allow(`M${i}`, 5));
});

test('the fourth flash in a second waits', () => {
  const limiter = new FlashLimiter();
  for (const [i, area] of ['A', 'B', 'C'].entries()) {
    assert.ok(limiter.allow(area, i));
    assert.ok(limiter.allow(area, 100 + i));
  }
  assert.ok(limiter.allow('D', 200));
  assert.ok(!limiter.allow('D', 300));
  assert.ok(limiter.allow('D', 1400));
});

test('random changes in random areas end at the truth and never flash more than three times a second', () => {
  const seed = Number(process.env.DRYBUS_SEED ?? 1);
  let state = seed;
  const random = () => { state = (state * 1103515245 + 12345) % 2147483648; return state / 2147483648; };
  for (let round = 0; round < 40; ++round) {
    const limiter = new FlashLimiter();
    const shown = new Map();
    const wanted = new Map();
    const areas = 2 + Math.floor(random() * 12);
    for (let real = 0; real < 9000; real += frame_ms) {
      for (let i = 0; i < areas; ++i) {
        const area = `A${i}`;
        if (real < 6000 && random() < 0.15) wanted.set(area, Math.round(random() * 4) / 4);
        const values = shown.get(area) ?? [[0, 0]];
        const want = wanted.get(area) ?? 0;
        if (values.at(-1)[1] !== want && limiter.allowBrightness(area, values.at(-1)[1], want, real)) values.push([real, want]);
        shown.set(area, values);
      }
    }
    assert.ok(mostFlashes(shown) <= 3, `replay with DRYBUS_SEED=${seed} node --test tests/browser/flash_limiter_test.mjs`);
    for (const [area, want] of wanted) assert.equal(shown.get(area).at(-1)[1], want, `DRYBUS_SEED=${seed}`);
  }
});

test('a swell is never so deep that two opposing changes within a second reach ten per cent', () => {
  for (const speed of speeds) {
    const period = period_ms(timings.breathe, speed);
    const depth = softDepth(period);
    const at = (ms) => depth * brightness(timings.breathe, 0, ms / 1000 * speed);
    // Every window of a second, every turning point within it.
    let worst = 0;
    const step = Math.max(1, period / 400);
    for (let turn = 0; turn <= period; turn += step) {
      for (let back = 0; back <= 1000; back += 50) {
        const before = at(turn + 1000 * period - back) - at(turn + 1000 * period);
        const after = at(turn + 1000 * period + 1000 - back) - at(turn + 1000 * period);
        if (Math.sign(before) === Math.sign(after)) worst = Math.max(worst, Math.min(Math.abs(before), Math.abs(after)));
      }
    }
    assert.ok(worst < 0.1, `${worst} at ${speed}×`);
  }
});

test('the count of flashes that a period can put into a window is the textbook one', () => {
  assert.equal(flashesOf(1000), 1);
  assert.equal(flashesOf(500), 2);
  assert.ok(flashesOf(300) > 3);
});
