// Findings as they arise: what is out of step, since when, and what to do about it.
import { element, renew, unseenWords } from './element.js';
import { behindCurtain } from './curtain.js';
import { findingName } from './names.js';
import { clockText } from './times.js';
import { tr } from './words.js';

export class FindingsView {
  constructor(desk) {
    this.desk = desk;
    this.list = element('ol', { class: 'finding-list' });
    this.count = element('span', { class: 'revealed' });
    this.node = element('section', { class: 'findings', 'aria-labelledby': 'findings-title' },
      element('h2', { id: 'findings-title' }, tr('out of step'), ' ', this.count),
      behindCurtain(tr('findings are hidden'), this.list));
  }

  draw({ areas, real_ms }, findings) {
    const key = findings.map(({ key: own, until_s }) => `${own}${until_s}`).join();
    areas.showSlowly('findings', key, real_ms, () => this.#tell(findings));
  }

  #tell(findings) {
    const open = findings.filter(({ until_s }) => until_s === null).length;
    this.count.textContent = findings.length === 0 ? '' : tr('{open} now, {all} in all', { open, all: findings.length });
    renew(this.list, () => this.#items(findings));
  }

  #items(findings) {
    if (findings.length === 0) return [element('li', { class: 'none' }, tr('nothing so far'))];
    return findings.map((finding, index) => ({ finding, index })).reverse().map((each) => this.#item(each));
  }

  #item({ finding: { id, key, at_s, until_s, text, remedy, devices }, index }) {
    return element('li', { class: until_s === null ? 'finding now' : 'finding past', 'data-key': key, 'data-id': id },
      element('h3', {}, element('span', { class: 'disc', 'aria-hidden': 'true' }, String(index + 1)), findingName(id),
        element('span', { class: 'devices' }, devices.join(', '))),
      element('button', { type: 'button', class: 'when', 'data-focus': key, onclick: () => this.desk.seek(at_s) },
      unseenWords(tr('{id}: go to ', { id: findingName(id) })), until_s === null ? tr('{from} until now', { from: clockText(at_s) })
        : tr('{from} to {to}', { from: clockText(at_s), to: clockText(until_s) })),
      element('details', {}, element('summary', {}, tr('why, and what to do')),
        element('p', {}, text), element('p', { class: 'remedy' }, element('strong', {}, tr('What to do: ')), remedy)));
  }
}
