// Holds every YAML file of ours against its JSON Schema, as an editor would: YAML 1.2 (core) and ajv, neither of them ours.
//
//   node tests/tools/schema_check.mjs [FILE...]     all of scenarios/ unless files are named; exit 1 when one does not fit
import { readFileSync, readdirSync } from 'node:fs';
import { basename, dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import Ajv2020 from 'ajv/dist/2020.js';
import { parseDocument } from 'yaml';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const schemaFolder = join(root, 'scenarios', 'schema');

/** Which schema a file answers to is told by the key that says what it is. */
const schemaOfKey = {
  'drybus': 'scenario',
  'drybus-site': 'site',
  'drybus-family': 'family',
  'drybus-report': 'report',
  'drybus-catalogue': 'catalogue',
  'drybus-lesson': 'lesson',
  'steps': 'steps',
};

/** A scenario that names its protocol answers to that one's. */
const schemaOfProtocol = { 'iec-62386': 'line' };

export function makeValidators() {
  const ajv = new Ajv2020({ allErrors: true, strict: true, strictTypes: false, strictRequired: false });
  const names = [...Object.values(schemaOfKey), ...Object.values(schemaOfProtocol)];
  for (const name of names) {
    const file = `${name}.schema.json`;
    ajv.addSchema(JSON.parse(readFileSync(join(schemaFolder, file), 'utf8')), file);
  }
  return Object.fromEntries(names.map((name) => [name, ajv.getSchema(`${name}.schema.json`)]));
}

export function parse(text) {
  const document = parseDocument(text, { version: '1.2', schema: 'core', uniqueKeys: true, prettyErrors: true });
  if (document.errors.length > 0) throw document.errors[0];
  return document.toJS({ maxAliasCount: 100 });
}

/** The complaints about one text; none when it fits. `undefined` when it is none of ours. */
export function check(text, validators) {
  let value;
  try {
    value = parse(text);
  } catch (error) {
    return [`not YAML 1.2: ${error.message}`];
  }
  const key = Object.keys(schemaOfKey).find((k) => value !== null && typeof value === 'object' && k in value);
  if (key === undefined) return undefined;
  const validate = validators[schemaOfProtocol[value.protocol] ?? schemaOfKey[key]];
  if (validate(value)) return [];
  return validate.errors.map((e) => `${e.instancePath || '/'} ${e.message} ${JSON.stringify(e.params)}`);
}

function yamlFiles(folder) {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    const path = join(folder, entry.name);
    if (entry.isDirectory()) return yamlFiles(path);
    return entry.name.endsWith('.yaml') ? [path] : [];
  }).sort();
}

function main(named) {
  const validators = makeValidators();
  const files = named.length > 0 ? named : yamlFiles(join(root, 'scenarios'));
  let checked = 0;
  let misfits = 0;
  for (const file of files) {
    const complaints = check(readFileSync(file, 'utf8'), validators);
    if (complaints === undefined) {
      if (named.length > 0) console.log(`${file}: none of ours: neither a scenario, a site, a family, a report, a catalogue nor steps`);
      misfits += named.length > 0 ? 1 : 0;
      continue;
    }
    ++checked;
    misfits += complaints.length > 0 ? 1 : 0;
    for (const complaint of complaints) console.log(`${relative(root, file)}: ${complaint}`);
  }
  console.log(`${checked} files against their schemas, ${misfits} do not fit`);
  return misfits === 0 && checked > 0 ? 0 : 1;
}

if (process.argv[1] !== undefined && basename(process.argv[1]) === 'schema_check.mjs') {
  process.exitCode = main(process.argv.slice(2));
}
