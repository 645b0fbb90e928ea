// Somebody at the other end of the line, to whom something really happened: a scenario that only they know. What the page
// asks is asked of the terminal, too, in a copy of the file; what would be seen is what `drybus run` says.
import { spawnSync } from 'node:child_process';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { parse } from 'yaml';

const program = process.env.DRYBUS_PROGRAM;
const surroundings = { ...process.env, DRYBUS_FAMILIES: `${process.env.DRYBUS_SOURCE}/scenarios/families` };

export function drybus(args, input = '') {
  const ran = spawnSync(program, args, { encoding: 'utf8', input, env: surroundings });
  return { code: ran.status, out: ran.stdout, err: ran.stderr };
}

// What the terminal says of the file as it stands.
export function atTheTerminal(path) {
  const { code, out, err } = drybus(['call', path, '--format', 'json'], '');
  if (code === 2) throw new Error(err);
  return JSON.parse(out);
}

const isLook = (step) => 'seen' in step;
const expected = (seen) => [seen].flat().flatMap((each) => Object.entries(each)).map(([what, value]) => ({ expect: { [what]: value } }));
const asExpected = (steps = []) => steps.flatMap((step) => isLook(step) ? expected(step.seen) : [step]);

export class Truth {
  // `story`: what really was done; `alter`: what is really so of the site, which the caller does not know.
  constructor({ story, alter, folder }) {
    Object.assign(this, { story, alter, folder });
  }

  // The answer to what is asked now: {answer, saw}, `saw` for when a no alone is not enough.
  answer(path) {
    const copy = `${this.folder}/asked.yaml`;
    writeFileSync(copy, readFileSync(path));
    writeFileSync(`${this.folder}/yes.txt`, 'yes\n');
    const asked = drybus(['call', copy, '--answers', `${this.folder}/yes.txt`, '--format', 'json']);
    if (asked.code === 2) throw new Error(asked.err);
    const report = parse(readFileSync(copy, 'utf8'));
    rmSync(copy);
    const answers = report.answers ?? [];
    const last = answers.at(-1);
    if (last?.seen && Object.keys(last.seen).some((what) => what.endsWith('.switches'))) return this.#switches(report.site, last.seen);
    const before = answers.slice(0, -1).flatMap(({ steps = [] }) => steps.filter((step) => !isLook(step)));
    const looked = [...asExpected(last.steps), ...(last.seen ? expected(last.seen) : [])];
    const site = structuredClone(report.site);
    this.alter(site);
    const scenario = { drybus: 1, family: report.family, site, script: [...this.story, ...before, ...looked] };
    writeFileSync(`${this.folder}/truth.yaml`, JSON.stringify(scenario));
    const ran = drybus(['run', `${this.folder}/truth.yaml`, '--format', 'json']);
    if (ran.code === 2) throw new Error(ran.err);
    const wrong = JSON.parse(ran.out).checks.filter(({ passed }) => !passed);
    if (wrong.length === 0) return { answer: 'yes' };
    const [name, fact] = wrong[0].what.split(/[\s.]/);
    const lamp = fact === 'indicator';
    return { answer: 'no', saw: `${lamp ? 'the lamp of ' : ''}${name} ${this.#word(wrong[0].actual, lamp)}` };
  }

  #word(actual, lamp) {
    if (lamp) return { dark: 'is dark', steady: 'is steady' }[actual] ?? actual;
    return /^(0 %|dark)$/.test(actual) ? 'is off' : 'is on';
  }

  #switches(believed, seen) {
    const [what, told] = Object.entries(seen)[0];
    const site = structuredClone(believed);
    this.alter(site);
    const { switches } = site.plates[what.split('.')[0]];
    const shown = typeof switches === 'string' ? switches : `${switches.site}/${switches.zone}`;
    return shown === told ? { answer: 'yes' } : { answer: 'no', switches: shown };
  }
}
