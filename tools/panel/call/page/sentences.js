// The sentences that can be said of a site, and those of them that fit what somebody has typed: a few letters of each
// word are enough, in their order.
const patternsOfModule = ['blinks', 'lamp is dark', 'breathes', 'blips', 'lamp is steady', 'refuses'];
const patternsOfPlate = ['blinks', 'is dark', 'blips', 'refuses'];
const most = 8;
const mostAddressed = 12;

// What people say instead.
const otherWords = new Map(Object.entries({ flashes: 'blinks', flashing: 'blinks', blinking: 'blinks', flickers: 'blinks',
  lit: 'on', burns: 'on', pressed: 'press', pushed: 'press', held: 'hold', waited: 'wait', went: 'go', unlit: 'off',
  addressing: 'addressed', glows: 'steady', pulses: 'breathes' }));

// Of one device, in groups: [{name, sentences: [{words, line, kind}]}].
export function sayingsOf(device) {
  const { say } = device;
  const plate = device.kind === 'plate';
  const seen = (words) => ({ words, line: `${say} ${words}`, kind: 'seen' });
  const done = (words, line) => ({ words, line, kind: 'done' });
  const meaning = (button) => device.does?.[button] && device.does[button] !== button ? ` (${device.does[button]})` : '';
  const groups = [{ name: 'its lamp', sentences: (plate ? patternsOfPlate : patternsOfModule).map(seen) }];
  if (!plate) {
    groups.unshift({ name: 'what it feeds', sentences: [seen('is on'), seen('is off'),
      { words: 'never reacts', line: `${say} never reacts`, kind: 'never' }] });
    groups.at(-1).sentences.push({ words: 'never blips', line: `${say} never blips`, kind: 'never' });
  }
  const presses = device.buttons.map((button) => done(`press ${button}${meaning(button)}`, `press ${say} ${button}`));
  if (device.setup) presses.push(done(`hold ${device.setup} for ${device.setup_for}`, `hold ${say} ${device.setup} for ${device.setup_for}`));
  if (presses.length > 0) groups.push({ name: 'was pressed', sentences: presses });
  return groups;
}

const channelOf = ({ intended }) => Number(intended.split('/')[2]);

function addressings(devices) {
  const plates = devices.filter(({ kind, neighbour }) => kind === 'plate' && !neighbour);
  const modules = devices.filter(({ kind }) => kind === 'module');
  const all = [];
  for (const plate of plates) {
    const own = modules.filter(({ intended }) => intended?.startsWith(`${plate.switches}/`)).sort((a, b) => channelOf(a) - channelOf(b));
    // All of a plate's at once are more likely told than any one of them.
    if (own.length > 1 && own.length <= mostAddressed) all.push({ line: `addressed ${own.map(({ say }) => say).join(', ')} with ${plate.say}`, likelier: 3 * own.length });
    all.push(...own.map(({ say }) => ({ line: `addressed ${say} with ${plate.say}`, likelier: 0 })));
  }
  return all.map((each) => ({ words: each.line, kind: 'done', ...each }));
}

export function sentencesOf(rooms) {
  const devices = rooms.flatMap((room) => room.devices);
  const all = devices.flatMap((device) => sayingsOf(device).flatMap(({ sentences }) => sentences))
    .map((each) => ({ ...each, words: each.line }));
  for (const { name } of rooms) if (name) all.push({ words: `go to ${name}`, line: `go to ${name}`, kind: 'done' });
  for (const line of ['power off', 'power on']) all.push({ words: line, line, kind: 'done' });
  return [...all, ...addressings(devices)].map((each) => ({ ...each, parts: parts(each.words) }));
}

const parts = (text) => text.toLowerCase().split(/[^\p{L}\p{N}./]+/u).filter((part) => part !== '');

function waits(text) {
  const found = text.match(/^(?:wait(?:ed)?\s+)?(?:about\s+)?(\d+(?:\.\d+)?)\s*(s|sec|second|seconds|min|minute|minutes|m|h|hour|hours)$/i);
  if (!found) return [];
  const unit = /^s/i.test(found[2]) ? 's' : /^m/i.test(found[2]) ? 'min' : 'h';
  return [`wait about ${found[1]} ${unit}`, `wait ${found[1]} ${unit}`].map((line) => ({ words: line, line, kind: 'done' }));
}

// How well typed parts fit a sentence's: null when they do not. Less is better.
function misfit(typed, words) {
  let at = 0;
  let skipped = 0;
  for (const part of typed) {
    const next = words.findIndex((word, index) => index >= at && word.startsWith(part));
    if (next < 0) return null;
    skipped += next - at;
    at = next + 1;
  }
  const last = words[at - 1];
  return skipped * 4 + (words.length - at) * 2 + (last === typed.at(-1) ? 0 : 1);
}

// The best of them, with `perhaps` or `complaint` before each where that was typed.
export function fitting(text, sentences) {
  const wait = waits(text.trim());
  let typed = parts(text).map((part) => otherWords.get(part) ?? part);
  let before = '';
  if (typed.length > 1 && typed[0].length > 2) {
    const word = ['perhaps', 'complaint'].find((each) => each.startsWith(typed[0]));
    if (word) [before, typed] = [`${word} `, typed.slice(1)];
  }
  if (typed.join('').length < 2) return wait;
  const found = sentences.map((each, index) => ({ each, index, misfit: misfit(typed, each.parts), likelier: each.likelier ?? 0 }))
    .filter((one) => one.misfit !== null && (before !== 'complaint ' || one.each.kind !== 'done'))
    .sort((a, b) => a.misfit - a.likelier - b.misfit + b.likelier || a.index - b.index).slice(0, most)
    .map(({ each }) => ({ words: before + each.words, line: before + each.line, kind: before === 'complaint ' ? 'complaint' : each.kind }));
  return [...wait, ...found];
}
