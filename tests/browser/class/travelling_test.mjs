// axe-core on the lesson that travels: asked, wrong, told, over; and on a phone.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { test } from 'node:test';
import { pathToFileURL } from 'node:url';
import { objections } from '../objections.mjs';
import { closePage, drawn, openPage, shots } from '../support.mjs';

const program = process.env.DRYBUS_PROGRAM;
const built = existsSync(join(dirname(program), 'lesson-bench', 'lesson_bench.wasm.gz'));

test('axe-core has no objection to a lesson that travels', { skip: !built }, async () => {
  const folder = mkdtempSync(join(tmpdir(), 'drybus-travels-'));
  const path = join(folder, 'lesson.html');
  assert.equal(spawnSync(program, ['lesson', join(process.env.DRYBUS_SOURCE, 'scenarios/lessons/a-button-with-two-meanings.yaml'), '-o', path]).status, 0);
  for (const size of [{}, { width: 390, height: 844, hasTouch: true, isMobile: true }]) {
    const page = await openPage(pathToFileURL(path).href, size);
    const lesson = page.locator('.lesson');
    await lesson.getByText('go straight there').click();
    await lesson.locator('.choice').first().waitFor();
    await drawn(page);
    assert.deepEqual(await objections(page), [], 'asked');
    await lesson.locator('.choice').nth(1).click();
    await lesson.getByText('Once more').waitFor();
    assert.deepEqual(await objections(page), [], 'wrong');
    await lesson.locator('.choice').first().click();
    await lesson.getByText('That is right.').waitFor();
    assert.deepEqual(await objections(page), [], 'told');
    await page.screenshot({ path: join(shots, `travels-${size.width ?? 1280}.png`) });
    await page.click('#theme');
    assert.deepEqual(await objections(page), [], 'dark room');
    const wide = await page.evaluate(() => Math.max(innerWidth, document.documentElement.scrollWidth));
    assert.equal(wide, size.width ?? 1280, 'nothing is wider than the screen');
    await closePage(page);
  }
  rmSync(folder, { recursive: true });
});
