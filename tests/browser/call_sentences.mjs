// A few letters of each word are enough.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fitting, sentencesOf } from '../../tools/panel/call/page/sentences.js';

const module = (name, label, intended) => ({ name, label, say: label, kind: 'module', intended, buttons: ['local'], setup: 'local', setup_for: '4s' });
const rooms = [{ name: 'stage', devices: [
  { name: 'P2', label: 'Stage plate', say: 'Stage plate', kind: 'plate', switches: '32/2', buttons: ['up', 'down', 'set'], setup: 'set', setup_for: '3s' },
  module('M3', 'Stage battens', '32/2/1'), module('M4', 'Stage spots', '32/2/4')] }, { name: 'roof space', devices: [module('M1', 'Lamp 14', '32/1/1')] }];
const sentences = sentencesOf(rooms);
const first = (text) => fitting(text, sentences)[0]?.line;

test('the first sentence that fits is the one that is meant', () => {
  for (const [typed, meant] of [['st sp bl', 'Stage spots blinks'], ['spots off', 'Stage spots is off'], ['la 14 bl', 'Lamp 14 blinks'],
    ['pr st pl up', 'press Stage plate up'], ['hold plate', 'hold Stage plate set for 3s'], ['go roof', 'go to roof space'],
    ['per bat on', 'perhaps Stage battens is on'], ['com sp ne re', 'complaint Stage spots never reacts'], ['2 min', 'wait about 2 min'],
    ['waited 90s', 'wait about 90 s'], ['spots flashes', 'Stage spots blinks'], ['pow off', 'power off'],
    ['addr st', 'addressed Stage battens, Stage spots with Stage plate'], ['addr spots', 'addressed Stage spots with Stage plate']]) {
    assert.equal(first(typed), meant, typed);
  }
});

test('what fits nothing is left as it was typed, and a complaint is nothing that was done', () => {
  assert.deepEqual(fitting('Stage spots at 40 %', sentences), []);
  assert.deepEqual(fitting('', sentences), []);
  assert.ok(fitting('complaint press', sentences).every(({ kind }) => kind === 'complaint'));
  assert.equal(first('complaint press'), undefined);
});
