// Measuring on a machine that others use, too: how much of it they took meanwhile, and again where that was too much to judge by.
import { readFileSync, readdirSync } from 'node:fs';

const most_of_others = 0.15;
const most_rounds = 5;

const numbers = (text) => text.trim().split(/\s+/).map(Number);

// Of all processors since the start, in ticks: [busy, all].
function ofMachine() {
  const [user, nice, system, idle, iowait, irq, softirq] = numbers(readFileSync('/proc/stat', 'utf8').split('\n')[0].slice(3));
  const busy = user + nice + system + irq + softirq;
  return [busy, busy + idle + iowait];
}

// Of this process and all that it started, in the same ticks.
function ofOwn() {
  const all = new Map();
  for (const pid of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
    try {
      const fields = readFileSync(`/proc/${pid}/stat`, 'utf8').replace(/^.*\) /s, '').split(' ');
      all.set(Number(pid), { parent: Number(fields[1]), ticks: fields.slice(11, 15).reduce((sum, each) => sum + Number(each), 0) });
    } catch {
      // It has ended.
    }
  }
  const isOwn = (pid) => pid === process.pid || (all.has(pid) && isOwn(all.get(pid).parent));
  return [...all].filter(([pid]) => isOwn(pid)).reduce((sum, [, { ticks }]) => sum + ticks, 0);
}

// Takes a measurement, again while others had so much of the machine that it says nothing. {outcome, judged, told}: whether the
// outcome is to be held to anything, and what there is to say of that.
export async function measured(take, isFine) {
  for (let round = 1; ; ++round) {
    const [own, [busy, all]] = [ofOwn(), ofMachine()];
    const outcome = await take();
    const [ownAfter, [busyAfter, allAfter]] = [ofOwn(), ofMachine()];
    const others = allAfter === all ? 0 : Math.max(0, busyAfter - busy - (ownAfter - own)) / (allAfter - all);
    const judged = isFine(outcome) || others < most_of_others;
    const told = `others had ${(others * 100).toFixed(0)} % of the machine, round ${round}${judged ? '' : ': not judged'}`;
    if (judged || round === most_rounds) return { outcome, judged, told };
  }
}
