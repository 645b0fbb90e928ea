// Fifty pupils at once, each at a bench of their own: how long a press takes until the lamp's news is back, and that nothing is lost
// when far more come than there is room for. Some 7 ms of the time are the telegram on the wire, at the speed of life.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { measured } from '../machine.mjs';
import { pause, startClass } from './clients.mjs';

const pupils = Number(process.env.DRYBUS_PUPILS ?? 50);
const presses = Number(process.env.DRYBUS_PRESSES ?? 3);
// The aim is 100 ms on a machine of its own; where others use it, too, it is measured again, or not judged.
const most_ms = 250;

const share = (sorted, part) => sorted[Math.min(sorted.length - 1, Math.floor(sorted.length * part))];

// A plate's button goes down, a telegram goes out, a lamp goes out: alternately on and off.
async function work(pupil, took) {
  const lamp = () => pupil.state.devices.M2.load.to;
  await pupil.ask({ do: 'play' });
  for (let i = 0; i < presses; ++i) {
    await pause(300 + Math.random() * 1500);
    await pupil.ask({ do: 'press_for', device: 'P1', buttons: ['up'], for_s: 0.1 });
    await pupil.until(() => lamp() === 100);
    await pause(200 + Math.random() * 1000);
    const begun = performance.now();
    const dark = pupil.until(() => lamp() === 0);
    pupil.ask({ do: 'press', device: 'P1', buttons: ['off'] });
    took.push(await dark - begun);
    await pause(50);
    await pupil.ask({ do: 'release' });
  }
}

test(`${pupils} pupils press at once`, async (t) => {
  const room = await startClass('training/setup-split.yaml', ['--each']);
  const trainer = room.join('trainer');
  const begun = performance.now();
  const all = Array.from({ length: pupils }, () => room.join('pupil'));
  await Promise.all(all.map(({ ready }) => ready));
  t.diagnostic(`${pupils} pupils sat at their benches after ${(performance.now() - begun).toFixed(0)} ms`);
  const { outcome: took, judged, told } = await measured(async () => {
    const times = [];
    await Promise.all(all.map((pupil) => work(pupil, times)));
    return times.sort((a, b) => a - b);
  }, (times) => share(times, 0.95) < most_ms);
  t.diagnostic(`press to lamp, ${took.length} times: median ${share(took, 0.5).toFixed(1)} ms, 95 % ${share(took, 0.95).toFixed(1)} ms, ` +
    `99 % ${share(took, 0.99).toFixed(1)} ms, worst ${took.at(-1).toFixed(1)} ms; ${room.memory_mb().toFixed(0)} MB; ${told}`);
  assert.equal(took.length, pupils * presses);
  if (judged) assert.ok(share(took, 0.95) < most_ms, `95 % within ${most_ms} ms, not ${share(took, 0.95)}`);
  await trainer.until(() => trainer.class?.benches.filter(({ deed }) => deed !== '').length === pupils);
  await room.stop();
});

test('a thousand come: who finds no seat is told, and who sits goes on as before', async (t) => {
  const room = await startClass('training/setup-split.yaml', ['--each']);
  const trainer = room.join('trainer');
  await trainer.ready;
  const ida = room.join('pupil');
  await ida.ready;
  await ida.ask({ do: 'name', name: 'Ida' });
  await ida.ask({ do: 'press_for', device: 'P1', buttons: ['set'], for_s: 2.7 });
  await ida.ask({ do: 'seek', at_s: 3 });
  const told = new Map();
  for (let i = 0; i < 7; ++i) {
    const some = Array.from({ length: 150 }, () => room.join('pupil'));
    for (const outcome of await Promise.allSettled(some.map(({ ready }) => ready))) {
      const what = outcome.status === 'fulfilled' ? 'a seat' : outcome.reason.message;
      told.set(what, (told.get(what) ?? 0) + 1);
    }
    await Promise.all(some.map((each) => each.close()));
  }
  t.diagnostic([...told].map(([what, count]) => `${count}: ${what}`).join('; '));
  assert.ok(told.get('1013 There are too many viewers.') > 100);
  const { key } = ida.hello.you;
  await ida.close();
  const again = room.join('pupil', key);
  await again.ready;
  assert.equal(again.hello.you.name, 'Ida');
  assert.equal(again.state.devices.P1.hidden.mode, 'setup');
  await trainer.until(() => trainer.class.benches.some(({ name }) => name === 'Ida'));
  assert.ok(trainer.class.benches.length <= 101);
  await room.stop();
});

test('what a pupil may not, or says out of turn, is refused and told why', async () => {
  const room = await startClass('lessons/one-step-too-far.yaml', ['--each']);
  const trainer = room.join('trainer');
  const pupil = room.join('pupil');
  await Promise.all([trainer.ready, pupil.ready]);
  const why = async (client, message) => (await client.ask(message)).why;
  for (const verb of ['shelf', 'each', 'look_at', 'wall', 'results', 'open']) assert.match(await why(pupil, { do: verb }), /trainer/);
  assert.match(await why(pupil, { do: 'curtain', drawn: false }), /when the questions are over/);
  assert.match(await why(pupil, { do: 'save' }), /when the questions are over/);
  const { question } = await pupil.ask({ do: 'lesson', ask: 'question' });
  assert.match(await why(pupil, { do: 'seek', at_s: question.at_s + 1 }), /goes on when the question is answered/);
  assert.equal((await pupil.ask({ do: 'seek', at_s: question.at_s })).type, 'done');
  assert.match(await why(pupil, { do: 'play' }), /goes on when the question is answered/);
  assert.match((await pupil.ask({ do: 'lesson', ask: 'judge' })).complaint, /in words/);
  assert.match(await why(pupil, { do: 'look_at', bench: 0 }), /trainer/);
  assert.match(await why(trainer, { do: 'look_at', bench: 999 }), /no bench 999/);
  await trainer.ask({ do: 'look_at', bench: pupil.hello.you.id });
  await trainer.until(() => trainer.where?.bench === pupil.hello.you.id);
  assert.match(await why(trainer, { do: 'press', device: 'P1', buttons: ['up'] }), /a pupil's bench/);
  assert.equal((await pupil.ask({ do: 'lesson', ask: 'answer', text: '2' })).verdict, 'right');
  const { text } = await trainer.ask({ do: 'results' });
  assert.match(text, /^pupil,lesson,number,question,right,tries,hints\r\n\d+,"One step too far",1,/);
  assert.match(text, /,yes,1,0\r\n/);
  await room.stop();
});
