// What axe-core has to object to in a page as it is now.
import assert from 'node:assert/strict';
import axe from 'axe-core';

const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

export async function objections(page) {
  await page.evaluate(axe.source);
  const result = await page.evaluate((runOnly) => window.axe.run(document, { runOnly }), tags);
  assert.ok(result.passes.length > 15, 'axe did look');
  return result.violations.flatMap(({ id, nodes }) => nodes.map(({ target, failureSummary }) => `${id}: ${target} ${failureSummary}`));
}

