// Words for what the server names by short ones of its own, which the page goes by.
import { msg, tr, trAs } from './words.js';

const patterns = { dark: tr('dark'), blink: tr('blinks'), breathe: tr('breathes'), steady: tr('steady'), blip: tr('blip'),
  refuse: tr('refuses'), unseen: tr('not seen') };
const modes = { normal: tr('normal'), setup: tr('setup') };
const powerUps = { off: trAs('power-up', 'off'), full: trAs('power-up', 'full'), last: trAs('power-up', 'last') };
const links = { sound: trAs('link', 'sound'), open: trAs('link', 'open'), shorted: trAs('link', 'shorted'), noisy: trAs('link', 'noisy'),
  hidden: trAs('link', 'hidden') };
// A branch to which nobody has given a name: as the server calls it, from which time on.
const branches = { 'Free play': tr('Free play'), Demonstration: tr('Demonstration') };
const timed = { From: msg('From {time}'), 'What if, at': msg('What if, at {time}') };
export function branchName(name) {
  const [, kind, time] = name.match(/^(From|What if, at) ([0-9:.]+)$/) ?? [];
  return kind ? tr(timed[kind], { time }) : branches[name] ?? name;
}

// As the model names them.
export const findings = [msg('setup-split'), msg('assign-unheard'), msg('press-misread'), msg('two-plates-in-setup'), msg('shared-address'),
  msg('wrong-address'), msg('unaddressed'), msg('orphan-address'), msg('site-overlap'), msg('factory-site'), msg('zone-zero'),
  msg('out-of-reach'), msg('telegram-lost'), msg('blip-asleep'), msg('powers-up-lit'), msg('stuck-button'), msg('write-lost'),
  msg('not-understood'), msg('scene-in-motion'), msg('scene-missed'), msg('scene-of-before'), msg('scene-unset'), msg('scene-overwritten'),
  msg('scene-wrong'), msg('master-next-door')];

export const patternName = (pattern) => patterns[pattern] ?? pattern;
export const modeName = (mode) => modes[mode] ?? mode;
export const powerUpName = (mode) => powerUps[mode] ?? mode;
export const linkName = (state) => links[state] ?? state;
export const findingName = (id) => tr(id);
// Who has no name of their own: whom no scenario gives one, and who came to a class and has not said it.
const numbered = { trainer: msg('trainer {number}'), pupil: msg('pupil {number}'), onlooker: msg('onlooker {number}'),
  viewer: msg('viewer {number}') };
export function personName(name) {
  if (name === 'installer') return tr('installer');
  if (name === 'the class') return tr('the class');
  const [, role, number] = name.match(/^(trainer|pupil|onlooker|viewer) (\d+)$/) ?? [];
  return role ? tr(numbered[role], { number }) : name;
}
