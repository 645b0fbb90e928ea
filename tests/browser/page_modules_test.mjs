// The page's small pure parts: times, the speed slider, lanes of the timeline, the drawing of the bus, patterns.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { pageModule } from './page_modules.mjs';

const times = await pageModule('times.js');
const scale = await pageModule('speed_scale.js');
const lanes = await pageModule('timeline_lanes.js');
const layout = await pageModule('bus_layout.js');
const { SimulatedClock } = await pageModule('simulated_clock.js');
const { brightness } = await pageModule('patterns.js');
const { withNew, levelAt } = await pageModule('bench.js');
const { pluralRule } = await pageModule('plural_rule.js');
const words = await pageModule('words.js');

test('times are told as the other views tell them', () => {
  assert.equal(times.clockText(0), '0:00.0');
  assert.equal(times.clockText(259.04), '4:19.0');
  assert.equal(times.clockText(59.96), '1:00.0');
  assert.equal(times.clockText(59.96, false), '0:59');
  assert.equal(times.clockText(3864.5), '1:04:24.5');
  assert.equal(times.spokenTime(61), '1 minute 1 second');
  assert.equal(times.speedText(0.25), '0.25×');
  assert.equal(times.speedText(10000), '10,000×');
});

test('the speed slider goes from 0.1 to 10,000 and back to the same speed', () => {
  assert.equal(scale.speedAt(0), 0.1);
  assert.equal(scale.speedAt(1), 10000);
  for (const stop of scale.stops) assert.equal(scale.speedAt(scale.positionOf(stop)), stop);
  let speed = scale.slowest;
  const seen = [speed];
  while (speed < scale.fastest) seen.push(speed = scale.faster(speed));
  assert.deepEqual(seen, scale.stops);
  while (speed > scale.slowest) speed = scale.slower(speed);
  assert.equal(speed, scale.slowest);
});

test('between two messages the clock goes on at its speed, and stands while it is stopped', () => {
  const clock = new SimulatedClock();
  clock.set({ now_s: 100, playing: true, speed: 60 }, 1000);
  assert.equal(clock.now_s(1500), 130);
  assert.equal(clock.now_s(900), 100, 'never back');
  clock.set({ now_s: 130, playing: false, speed: 60 }, 1500);
  assert.equal(clock.now_s(9000), 130);
});

test('a blink is lit for its time and dark for its time; a swell is brightest in between', () => {
  const blink = { lit_s: 0.5, dark_s: 0.5, soft: false };
  assert.deepEqual([0, 0.49, 0.5, 0.99, 1].map((at) => brightness(blink, 10, 10 + at)), [1, 1, 0, 0, 1]);
  const breathe = { lit_s: 1.5, dark_s: 1.5, soft: true };
  assert.equal(brightness(breathe, 0, 0), 0);
  assert.equal(brightness(breathe, 0, 1.5), 1);
  assert.ok(Math.abs(brightness(breathe, 0, 0.75) - 0.5) < 1e-9);
  assert.equal(brightness({ lit_s: 1, dark_s: 0, soft: false }, 0, 5), 1);
  assert.equal(brightness({ lit_s: 0, dark_s: 1, soft: false }, 0, 5), 0);
});

test('a lane has a span for each setup, power cut and press, and a mark for what shows in between', () => {
  const line = (at_s, kind, value, more = {}) => ({ at_s, kind, who: 'P1', value, ...more });
  const lane = lanes.deviceLane([
    line(0, 'step', 'hold', { buttons: ['set'], for_s: 5.2 }),
    line(5, 'mode', 'setup'), line(5, 'indicator', 'blink'), line(150, 'indicator', 'refuse'),
    { ...line(6, 'mode', 'setup'), who: 'P2' },
    line(185, 'mode', 'normal'),
    line(190, 'power', 'off'), line(195, 'power', 'on'),
    line(200, 'mode', 'setup'), line(201, 'step', 'press', { buttons: ['up'], for_s: null }),
  ], 'P1', 210);
  assert.deepEqual(lane.setup, [{ value: 'setup', from_s: 5, to_s: 185, open: false },
    { value: 'setup', from_s: 200, to_s: 210, open: true }]);
  assert.deepEqual(lane.shown, [{ value: 'refuse', at_s: 150 }]);
  assert.deepEqual(lane.off, [{ value: 'off', from_s: 190, to_s: 195, open: false }]);
  assert.deepEqual(lane.pressed.map(({ from_s, to_s }) => [from_s, to_s]), [[0, 5.2], [201, 210]]);
});

test('a person stays, walks and stays', () => {
  const lane = lanes.personLane([{ at_s: 5, kind: 'walked', person: 'installer', value: 'loft' },
    { at_s: 105, kind: 'arrived', person: 'installer', value: 'loft' }], 'installer', 'foyer', 120);
  assert.deepEqual(lane.map(({ kind, place, from_s, to_s }) => [kind, place, from_s, to_s]),
    [['stay', 'foyer', 0, 5], ['walk', 'loft', 5, 105], ['stay', 'loft', 105, 120]]);
});

test('the axis holds all of the run and grows in steps', () => {
  for (const reached of [0, 1, 59, 60, 259, 3600, 86400, 2600000]) {
    const length = lanes.axisLength(reached);
    assert.ok(length >= reached);
    assert.ok(lanes.axisMarks(length).length <= 9);
  }
});

test('a line of the bus is drawn as it was written; a branch has a row of its own', () => {
  const links = [{ name: 'P1-M1', a: 'P1', b: 'M1' }, { name: 'M1-M2', a: 'M1', b: 'M2' }];
  const line = layout.layOut(['P1', 'M1', 'M2'], links);
  assert.deepEqual([...line.at].map(([name, { x, y }]) => [name, x, y]), [['P1', 0, 0], ['M1', 1, 0], ['M2', 2, 0]]);
  const tree = layout.layOut(['P1', 'P2', 'M1', 'M2', 'M3'], [
    { name: '', a: 'P1', b: 'P2' }, { name: '', a: 'P1', b: 'M1' }, { name: '', a: 'P1', b: 'M2' }, { name: '', a: 'P2', b: 'M3' }]);
  assert.equal(new Set([...tree.at.values()].map(({ x, y }) => `${x},${y}`)).size, 5, 'no two stops on one spot');
  const loose = layout.layOut(['P1', 'M1', 'M9'], [{ name: '', a: 'P1', b: 'M1' }]);
  assert.equal(loose.at.size, 3, 'what hangs on nothing is drawn as well');
});

test('the way along the wires is found, or that there is none', () => {
  const links = [{ a: 'P1', b: 'M1' }, { a: 'M1', b: 'M2' }, { a: 'M1', b: 'M3' }];
  assert.deepEqual(layout.way('P1', 'M3', links), ['P1', 'M1', 'M3']);
  assert.equal(layout.way('P1', 'M9', links), null);
});

test('telegrams that come again replace themselves, and the oldest go', () => {
  const kept = withNew([{ entry: 1, heard: [] }, { entry: 2, heard: [] }], [{ entry: 2, heard: ['M1'] }, { entry: 3 }], 2);
  assert.deepEqual(kept, [{ entry: 2, heard: ['M1'] }, { entry: 3 }]);
});

test('a load fades evenly from its level to where it goes', () => {
  const load = { level: 20, to: 100, begin_s: 10, end_s: 12 };
  assert.deepEqual([9, 10, 11, 12, 20].map((at) => levelAt(load, at)), [20, 20, 60, 100, 100]);
  assert.equal(levelAt({ level: 40, to: 40, begin_s: 0, end_s: null }, 5), 40);
});

// The formulas of GNU gettext's manual, "Plural forms"; tests/tools/words/catalogue_test.cpp has the same.
const formulas = [
  ['0', [[0, 0], [1, 0], [5, 0]]],
  ['n != 1', [[0, 1], [1, 0], [2, 1]]],
  ['n>1', [[0, 0], [1, 0], [2, 1]]],
  ['n%10==1 && n%100!=11 ? 0 : n != 0 ? 1 : 2', [[0, 2], [1, 0], [11, 1], [21, 0], [30, 1]]],
  ['n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2', [[1, 0], [2, 1], [5, 2], [12, 2], [22, 1], [112, 2]]],
  ['n%100==1 ? 0 : n%100==2 ? 1 : n%100==3 || n%100==4 ? 2 : 3', [[1, 0], [102, 1], [4, 2], [5, 3], [101, 0]]],
  ['n==0 ? 0 : n==1 ? 1 : n==2 ? 2 : n%100>=3 && n%100<=10 ? 3 : n%100>=11 ? 4 : 5', [[0, 0], [1, 1], [2, 2], [7, 3], [111, 4], [100, 5]]],
];

test('a count takes the form that its language has for it', () => {
  for (const [formula, forms] of formulas) {
    const formOf = pluralRule(formula);
    for (const [n, form] of forms) assert.equal(formOf(n), form, `${n} by ${formula}`);
  }
  for (const wrong of ['', 'n +', '(n', 'm', 'n n', 'alert(1)', '1 ? 2']) assert.throws(() => pluralRule(wrong), wrong);
});

test('without a catalogue texts are told as they are written, with what belongs into them', () => {
  assert.equal(words.tr('{name} walks to {place}', { name: 'Ida', place: 'loft' }), 'Ida walks to loft');
  assert.equal(words.tr('{name} walks', { name: '{place}', place: 'no' }), '{place} walks');
  assert.equal(words.plural('{n} hint', '{n} hints', 1), '1 hint');
  assert.equal(words.plural('{n} hint', '{n} hints', 0), '0 hints');
  assert.equal(words.trAs('link', 'open'), 'open');
  assert.equal(words.number(12345.25), '12,345.25');
});
