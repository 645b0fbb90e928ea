// Another branch at the same moment, beside the one at work: to be looked at, not touched.
import { element, setText } from './element.js';
import { branchName, findingName } from './names.js';
import { SiteView } from './site_view.js';
import { clockText } from './times.js';
import { tr } from './words.js';

const again_ms = 1200;

export class SideBySide {
  #branch = null;
  #askedAt_ms = -Infinity;
  #asking = false;

  constructor(desk, areas) {
    this.desk = desk;
    this.areas = areas;
    this.title = element('h2', {});
    this.findings = element('p', { class: 'outcome revealed' });
    this.place = element('div', {});
    this.node = element('section', { class: 'beside-view', hidden: true, 'aria-label': tr('The other branch') },
      element('header', {}, this.title, this.findings, element('button', { type: 'button', onclick: () => desk.layBeside(null) }, tr('put away'))),
      this.place);
  }

  get branch() { return this.#branch; }

  show(branch) {
    this.#branch = branch;
    this.node.hidden = branch === null;
    this.state = null;
    this.#askedAt_ms = -Infinity;
    if (branch === null) return;
    this.site = new SiteView(this.desk.bench.hello, { scope: 'beside ', areas: this.areas });
    this.place.replaceChildren();
  }

  draw(frame) {
    if (this.#branch === null) return;
    this.#ask(frame);
    if (!this.state) return;
    this.site.draw({ ...frame, now_s: this.state.now_s, playing: false });
  }

  // Its lamps keep the moment that was asked for; it is asked for again while the clock goes on.
  async #ask({ now_s, real_ms }) {
    const isSame = this.asked_s === now_s && this.state;
    if (this.#asking || isSame || real_ms - this.#askedAt_ms < again_ms) return;
    this.#asking = true;
    this.#askedAt_ms = real_ms;
    this.asked_s = now_s;
    const branch = this.#branch;
    const answer = await this.desk.view(branch, now_s);
    this.#asking = false;
    if (answer && branch === this.#branch) this.#take(answer.state);
  }

  #take(state) {
    if (!this.state) this.place.replaceChildren(this.site.node);
    this.state = state;
    const { name } = this.desk.bench.state.branches.find(({ id }) => id === this.#branch) ?? { name: '' };
    setText(this.title, tr('{name} at {time}', { name: branchName(name), time: clockText(state.now_s) }));
    setText(this.findings, state.findings.length ? tr('out of step: {findings}', { findings: state.findings.map(({ id }) => findingName(id)).join(', ') }) : '');
    this.site.update(state);
  }
}
