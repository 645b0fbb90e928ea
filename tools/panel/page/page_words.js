// What stands in index.html from the start, so that the catalogue has it; and the page told in its language.
import { msg, tr } from './words.js';

export const written = [msg('to the site'), msg('to playing and speed'), msg('draw the curtain'), msg('open the curtain'),
  msg('play the script'), msg('save'), msg('wall'), msg('dark room'), msg('Keys and help'), msg('Site'),
  msg('The panel needs JavaScript.')];

export function tellPage(page, language) {
  page.documentElement.lang = language;
  const texts = page.createTreeWalker(page.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const text = texts.currentNode.data.trim();
    if (written.includes(text)) texts.currentNode.data = tr(text);
  }
  for (const node of page.querySelectorAll('[aria-label]')) node.setAttribute('aria-label', tr(node.getAttribute('aria-label')));
}
