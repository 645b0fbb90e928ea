// The page of a call in Debian's Chromium: node tests/browser/call_run.mjs PROGRAM SOURCE_FOLDER BUILD_FOLDER
// Screenshots go to BUILD_FOLDER/panel.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';

const [program, source, build] = process.argv.slice(2);
if (!build) {
  console.error('usage: node tests/browser/call_run.mjs PROGRAM SOURCE_FOLDER BUILD_FOLDER');
  process.exit(2);
}
process.env.DRYBUS_PROGRAM = program;
process.env.DRYBUS_SOURCE = source;
process.env.DRYBUS_SHOTS = join(build, 'panel');
mkdirSync(process.env.DRYBUS_SHOTS, { recursive: true });
await import('./call_sentences.mjs');
await import('./call_page.mjs');
