// The panel in Debian's Chromium: node tests/browser/run.mjs PROGRAM SOURCE_FOLDER BUILD_FOLDER [WORD [FOLDER]]
// With a word only the test files whose name has it; of a folder below this one, its files. Screenshots go to BUILD_FOLDER/panel.
import { mkdirSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

const [program, source, build, word = '', folder = '.'] = process.argv.slice(2);
if (!build) {
  console.error('usage: node tests/browser/run.mjs PROGRAM SOURCE_FOLDER BUILD_FOLDER [WORD [FOLDER]]');
  process.exit(2);
}
process.env.DRYBUS_PROGRAM = program;
process.env.DRYBUS_SOURCE = source;
process.env.DRYBUS_SHOTS = join(build, 'panel');
mkdirSync(process.env.DRYBUS_SHOTS, { recursive: true });

const here = new URL(`${folder}/`, import.meta.url);
for (const name of readdirSync(here).filter((each) => each.endsWith('_test.mjs') && each.includes(word)).sort()) {
  await import(new URL(name, here));
}
