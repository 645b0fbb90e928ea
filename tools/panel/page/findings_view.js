// Findings as they arise: what is out of step, since when, and what to do about it.
import { element, unseenWords } from './element.js';
import { behindCurtain } from './curtain.js';
import { clockText } from './times.js';

export class FindingsView {
  constructor(desk) {
    this.desk = desk;
    this.list = element('ol', { class: 'finding-list' });
    this.count = element('span', { class: 'revealed' });
    this.node = element('section', { class: 'findings', 'aria-labelledby': 'findings-title' },
      element('h2', { id: 'findings-title' }, 'out of step ', this.count),
      behindCurtain('findings are hidden', this.list));
  }

  draw({ areas, real_ms }, findings) {
    const key = findings.map(({ key: own, until_s }) => `${own}${until_s}`).join();
    areas.showSlowly('findings', key, real_ms, () => this.#tell(findings));
  }

  #tell(findings) {
    const open = findings.filter(({ until_s }) => until_s === null).length;
    this.count.textContent = findings.length === 0 ? '' : `${open} now, ${findings.length} in all`;
    const items = findings.map((finding, index) => ({ finding, index })).reverse().map((each) => this.#item(each));
    this.list.replaceChildren(...items);
    if (items.length === 0) this.list.append(element('li', { class: 'none' }, 'nothing so far'));
  }

  #item({ finding: { id, key, at_s, until_s, text, remedy, devices }, index }) {
    return element('li', { class: until_s === null ? 'finding now' : 'finding past', 'data-key': key, 'data-id': id },
      element('h3', {}, element('span', { class: 'disc', 'aria-hidden': 'true' }, String(index + 1)), id,
        element('span', { class: 'devices' }, devices.join(', '))),
      element('button', { type: 'button', class: 'when', onclick: () => this.desk.seek(at_s) },
      unseenWords(`${id}: go to `), `${clockText(at_s)} ${until_s === null ? 'until now' : `to ${clockText(until_s)}`}`),
      element('details', {}, element('summary', {}, 'why, and what to do'),
        element('p', {}, text), element('p', { class: 'remedy' }, element('strong', {}, 'What to do: '), remedy)));
  }
}
