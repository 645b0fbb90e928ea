// Branches: what was tried from where. One is at work; another can be laid beside it.
import { element, renew, setClass, unseenWords } from './element.js';
import { branchName, findingName } from './names.js';
import { clockText } from './times.js';
import { tr } from './words.js';

export class BranchesView {
  constructor(desk) {
    this.desk = desk;
    this.list = element('ol', { class: 'branch-list' });
    this.node = element('section', { class: 'branches', 'aria-labelledby': 'branches-title' },
      element('h2', { id: 'branches-title' }, tr('branches')), this.list,
      element('div', { class: 'row' },
        element('button', { type: 'button', id: 'branch', onclick: () => desk.branch() }, tr('branch from here')),
        element('button', { type: 'button', id: 'note', onclick: () => desk.note() }, tr('remark'))));
  }

  draw({ areas, real_ms }, { branches, branch }, beside) {
    const key = JSON.stringify([branches.map(({ id, name, findings, from_s: from }) => [id, name, findings, from]), branch, beside]);
    areas.showSlowly('branches', key, real_ms, () => this.#tell(branches, branch, beside));
  }

  #tell(branches, branch, beside) {
    renew(this.list, () => branches.map((each) => this.#item(each, branches, branch, beside)));
    setClass(this.node, 'several', branches.length > 1);
  }

  #item({ id, name: written, parent, from_s: from, findings, kind }, branches, chosen, beside) {
    const isChosen = id === chosen;
    const name = branchName(written);
    const origin = branches.find((each) => each.id === parent);
    const where = origin ? tr('from {name} at {time}', { name: branchName(origin.name), time: clockText(from) }) : kind === 'demo' ? tr('the script') : tr('from the start');
    return element('li', { class: isChosen ? 'branch chosen' : 'branch', 'data-branch': id },
      element('button', { type: 'button', class: 'choose', 'aria-pressed': String(isChosen), 'data-focus': `choose${id}`,
        onclick: () => this.desk.do({ do: 'choose', branch: id }) },
      element('span', { class: 'fork', 'aria-hidden': 'true' }, isChosen ? '●' : '○'), name,
      element('small', {}, where),
      element('small', { class: 'revealed outcome' }, findings.map(findingName).join(', '))),
      !isChosen && element('button', { type: 'button', class: 'beside', 'aria-pressed': String(id === beside),
        'data-focus': `beside${id}`,
        onclick: () => this.desk.layBeside(id === beside ? null : id) }, tr('beside'), unseenWords(`: ${name}`)),
      isChosen && element('button', { type: 'button', class: 'more', 'data-focus': `more${id}`, 'aria-haspopup': 'dialog',
        'aria-label': tr('More about branch {name}', { name }), onclick: () => this.desk.openBranch(id) }, '⋯'));
  }
}
