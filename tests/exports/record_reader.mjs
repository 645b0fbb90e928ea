// Every training scenario's record, held line by line against its JSON Schema (draft 2020-12) by ajv.
// Called as: node record_reader.mjs PROGRAM SOURCE_FOLDER
import { spawnSync } from 'node:child_process';
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import Ajv2020 from 'ajv/dist/2020.js';

const [program, source] = process.argv.slice(2);
const fail = (message) => { console.error(message); process.exit(1); };

const schema = JSON.parse(readFileSync(join(source, 'scenarios/schema/record.schema.json'), 'utf8'));
const valid = new Ajv2020({ strict: true, allErrors: true }).compile(schema);
const kinds = schema.oneOf.map((variant) => variant.properties.kind.const);

const seen = new Map();
let lines = 0;
for (const name of readdirSync(join(source, 'scenarios/training')).filter((name) => name.endsWith('.yaml'))) {
  const path = join(source, 'scenarios/training', name);
  const run = spawnSync(program, ['run', path, '--record', '-'], { encoding: 'utf8', maxBuffer: 1 << 28, cwd: source });
  if (run.status > 1) fail(`${name}: exit ${run.status}\n${run.stderr}`);
  let before = 0;
  for (const line of run.stdout.trimEnd().split('\n')) {
    const entry = JSON.parse(line);
    if (!valid(entry)) fail(`${name}: ${line}\n${JSON.stringify(valid.errors, null, 1)}`);
    if (entry.at_ns < before || entry.cause >= entry.id) fail(`${name}: out of order: ${line}`);
    before = entry.at_ns;
    seen.set(entry.kind, entry);
    lines += 1;
  }
}

// The schema can say no: each of these is a valid entry with one thing wrong.
const good = seen.get('mode');
const wrong = [
  { ...good, kind: 'mood' }, { ...good, a: 2 }, { ...good, a: -1 }, { ...good, b: 5 }, { ...good, id: 0 },
  { ...good, at_ns: 0.5 }, { ...good, who: 7 }, { ...good, more: 1 }, { ...good, text: '' },
  Object.fromEntries(Object.entries(good).filter(([key]) => key !== 'cause')),
];
for (const entry of wrong) if (valid(entry)) fail(`taken for valid: ${JSON.stringify(entry)}`);

const unseen = kinds.filter((kind) => !seen.has(kind));
if (seen.size < 25) fail(`only ${seen.size} kinds of entries were seen; missing: ${unseen.join(', ')}`);
console.log(`ajv takes ${lines} entries of ${seen.size} kinds${unseen.length ? `; no run had: ${unseen.join(', ')}` : ''}`);
