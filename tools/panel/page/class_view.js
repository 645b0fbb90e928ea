// For whoever leads a class: who stands where, who may be stuck, over whose shoulder to look, what is on the wall.
import { element, setText, unseenWords } from './element.js';
import { durationText } from './times.js';

const row_age_ms = 5000;

export class ClassView {
  constructor(desk) {
    this.desk = desk;
    this.summary = element('p', { class: 'class-summary', role: 'status' });
    this.list = element('ol', { class: 'benches' });
    this.tools = element('div', { class: 'row' });
    this.node = element('section', { class: 'class', 'aria-labelledby': 'class-title', hidden: true },
      element('h2', { id: 'class-title' }, 'the class'), this.summary, this.tools, this.list);
    this.ages = new Map();
  }

  #button(words, message, unseen = '') {
    return element('button', { type: 'button', onclick: () => this.desk.do(message) }, words, unseen && unseenWords(unseen));
  }

  take(told, real_ms) {
    this.told = told;
    this.told_ms = real_ms;
    this.node.hidden = false;
    if (!told.each) document.body.classList.remove('class-wide');
    this.tools.replaceChildren(...this.#tools(told));
    this.ages.clear();
    const rows = told.benches.filter(({ bench }) => told.each || bench === 0);
    this.list.replaceChildren(...(told.led ? rows.map((bench) => this.#row(bench, told)) : []));
    this.#tellStuck();
  }

  #tools({ each, led, shelf, lesson }) {
    return [
      led && each && element('button', { type: 'button', 'aria-pressed': String(document.body.classList.contains('class-wide')),
        onclick: ({ currentTarget }) => currentTarget.setAttribute('aria-pressed', String(document.body.classList.toggle('class-wide'))) }, 'overview'),
      shelf && this.#button('the list of lessons', { do: 'shelf' }),
      led && (each ? this.#button('all at one bench', { do: 'each', on: false })
        : this.#button('a bench for each', { do: 'each', on: true })),
      led && lesson && element('button', { type: 'button', onclick: () => this.#results(false) }, 'results'),
      led && lesson && element('button', { type: 'button', onclick: () => this.#results(true) }, 'with names'),
    ].filter(Boolean);
  }

  async #results(names) {
    const told = await this.desk.ask({ do: 'results', names });
    if (!told) return;
    const link = element('a', { href: URL.createObjectURL(new Blob([told.text], { type: 'text/csv' })), download: 'results.csv' });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  }

  #row(bench, { wall }) {
    const age = element('span', { class: 'age' });
    this.ages.set(bench.bench, age);
    const words = standing(bench);
    return element('li', { class: `bench${bench.stuck ? ' stuck' : ''}${bench.away ? ' away' : ''}`, 'data-bench': bench.bench },
      element('span', { class: 'bench-name' }, bench.name, bench.away ? ' (away)' : ''),
      element('span', { class: 'bench-words' }, words, words && ' · ', bench.deed || 'nothing done yet', ' ', age),
      element('span', { class: 'row' },
        this.#button('look', { do: 'look_at', bench: bench.bench }, ` at ${bench.name}`),
        wall === bench.bench ? element('span', { class: 'on-wall' }, 'on the wall')
          : this.#button('to the wall', { do: 'wall', bench: bench.bench }, ` with ${bench.name}`)));
  }

  #tellStuck() {
    const { benches, each } = this.told;
    const own = benches.filter(({ bench }) => bench !== 0);
    const stuck = own.filter((bench) => bench.stuck && !bench.away);
    setText(this.summary, !each ? 'all work at one bench'
      : `${own.filter(({ away }) => !away).length} at work; ${stuck.length === 0 ? 'nobody is stuck'
        : `stuck: ${stuck.map(({ name, question }) => question ? `${name} (question ${question})` : name).join(', ')}`}`);
  }

  draw({ real_ms }) {
    if (!this.told || real_ms - (this.drawn_ms ?? -Infinity) < 1000) return;
    this.drawn_ms = real_ms;
    for (const { bench, deed_ago_s } of this.told.benches) {
      const age = this.ages.get(bench);
      const ago_s = Math.floor(deed_ago_s + (real_ms - this.told_ms) / 1000);
      if (age) setText(age, ago_s * 1000 < row_age_ms ? 'just now' : `${durationText(ago_s)} ago`);
    }
  }
}

function standing({ question, of, over, right, tries, hints }) {
  if (question === null) return '';
  if (over) return `done, ${right} of ${of} right`;
  const words = [`question ${question} of ${of}`];
  if (tries > 0) words.push(`${tries} wrong`);
  if (hints > 0) words.push(`${hints} ${hints === 1 ? 'hint' : 'hints'}`);
  return words.join(', ');
}
