// The page of `drybus draw`: smaller than the window, chapter by chapter, and on paper.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, test } from 'node:test';
import { pathToFileURL } from 'node:url';
import axe from 'axe-core';
import { closePage, openPage, shots } from './support.mjs';

const program = process.env.DRYBUS_PROGRAM;
const source = process.env.DRYBUS_SOURCE;
const folder = mkdtempSync(join(tmpdir(), 'drybus-picture-'));
after(() => rmSync(folder, { recursive: true }));

function run(command, ...words) {
  const ran = spawnSync(command, words, { encoding: 'utf8' });
  assert.equal(ran.status, 0, `${command} ${words.join(' ')}: ${ran.stderr}`);
  return ran.stdout;
}

async function open(scenario, size, ...options) {
  const path = join(folder, 'picture.html');
  run(program, 'draw', join(source, 'scenarios', scenario), '-o', path, ...options);
  return openPage(pathToFileURL(path).href, size);
}

const sizes = (page) => page.evaluate(() => {
  const view = document.getElementById('view');
  const box = document.querySelector('svg.picture').getBoundingClientRect();
  return { width: box.width, height: box.height, view_width: view.clientWidth, view_height: view.clientHeight,
    scrolls: view.scrollHeight > view.clientHeight + 1 || view.scrollWidth > view.clientWidth + 1 };
});

// Prints as anybody would, and tells how many pages that takes and how large they are.
async function printed(page) {
  const path = join(folder, 'printed.pdf');
  writeFileSync(path, await page.pdf({ preferCSSPageSize: true, printBackground: true }));
  const told = run('pdfinfo', path);
  const [, width, height] = told.match(/Page size: +([\d.]+) x ([\d.]+)/).map(Number);
  return { pages: Number(told.match(/Pages: +(\d+)/)[1]), width, height, text: run('pdftotext', '-layout', path, '-') };
}

test('a lesson is seen as a whole at 1280 by 720 and on a telephone, and can be made smaller still', async () => {
  for (const size of [{ width: 1280, height: 720 }, { width: 390, height: 844 }]) {
    const page = await open('training/setup-split.yaml', size);
    const whole = await sizes(page);
    assert.ok(whole.width <= whole.view_width + 1 && whole.height <= whole.view_height + 1, JSON.stringify(whole));
    assert.equal(whole.scrolls, false);
    if (size.width === 1280) assert.ok(whole.width > 1100, `only ${whole.width} px wide`);
    await page.keyboard.press('-');
    await page.keyboard.press('-');
    const smaller = await sizes(page);
    assert.ok(smaller.width < whole.width * 0.7);
    await page.keyboard.press('w');
    assert.ok(Math.abs((await sizes(page)).width - whole.view_width) < 20);
    await page.keyboard.press('0');
    assert.ok(Math.abs((await sizes(page)).width - whole.width) < 2);
    assert.deepEqual(page.problems, []);
    await page.screenshot({ path: join(shots, `picture-${size.width}.png`) });
    await closePage(page);
  }
});

test('keys and the list go from chapter to chapter', async () => {
  const page = await open('regression/install-wired.yaml');
  const chosen = () => page.evaluate(() => document.getElementById('chooser').value);
  const top = (index) => page.evaluate((each) => document.querySelectorAll('.chapter')[each].getBoundingClientRect().top -
    document.getElementById('view').getBoundingClientRect().top, index);
  assert.equal(await chosen(), '0');
  await page.keyboard.press(']');
  await page.keyboard.press(']');
  assert.equal(await chosen(), '2');
  assert.ok(Math.abs(await top(2)) < 2);
  await page.keyboard.press('[');
  assert.equal(await chosen(), '1');
  await page.selectOption('#chooser', '4');
  assert.ok(Math.abs(await top(4)) < 2);
  await page.screenshot({ path: join(shots, 'picture-chapter.png') });
  await page.keyboard.press('?');
  await page.getByText('go from chapter to chapter').waitFor();
  assert.deepEqual(page.problems, []);
  await closePage(page);
});

test('every chapter is printed on a page of its own, and nothing of it is cut off', async () => {
  for (const [scenario, paper, options] of [['training/setup-split.yaml', [842, 595], []],
    ['training/out-of-reach.yaml', [842, 595], []],
    ['regression/rows-confirming.yaml', [792, 612], ['--page', 'letter']]]) {
    const page = await open(scenario, {}, ...options);
    const chapters = await page.evaluate(() => document.querySelectorAll('.chapter').length);
    const names = await page.evaluate(() => [...document.querySelectorAll('.chapter')].map((each) =>
      [...each.querySelectorAll('text')].at(-1).textContent));
    const paper_copy = await printed(page);
    assert.equal(paper_copy.pages, chapters, scenario);
    assert.ok(Math.abs(paper_copy.width - paper[0]) < 1 && Math.abs(paper_copy.height - paper[1]) < 1, JSON.stringify(paper_copy.width));
    const sheets = paper_copy.text.split('\f');
    // Word by word: letters with a rim are read twice from paper.
    names.forEach((name, index) => assert.ok(name.split(' ').every((word) => sheets[index].includes(word)),
      `${scenario}: '${name}' is not on page ${index + 1}`));
    await closePage(page);
  }
});

test('what is covered on the page stays covered while it is asked about', async () => {
  const page = await open('training/setup-split.yaml');
  assert.ok(await page.getByText('time-out 240 s').first().isVisible());
  await page.keyboard.press('h');
  assert.ok(!(await page.getByText('time-out 240 s').first().isVisible()));
  assert.deepEqual(page.problems, []);
  await closePage(page);
});

test('axe-core has no objection to a page of chapters', async () => {
  for (const scenario of ['training/setup-split.yaml', 'regression/rows-confirming.yaml']) {
    const page = await open(scenario);
    await page.evaluate(axe.source);
    const result = await page.evaluate(() => window.axe.run(document,
      { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
    assert.ok(result.passes.length > 10, 'axe did look');
    assert.deepEqual(result.violations.flatMap(({ id, nodes }) => nodes.slice(0, 3).map(({ target, failureSummary }) =>
      `${id}: ${target} ${failureSummary}`)), [], scenario);
    await closePage(page);
  }
});
