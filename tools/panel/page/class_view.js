// For whoever leads a class: who stands where, who may be stuck, over whose shoulder to look, what is on the wall.
import { element, renew, setText, unseenWords } from './element.js';
import { personName } from './names.js';
import { durationText } from './times.js';
import { plural, tr } from './words.js';

const row_age_ms = 5000;

export class ClassView {
  constructor(desk) {
    this.desk = desk;
    this.summary = element('p', { class: 'class-summary', role: 'status' });
    this.list = element('ol', { class: 'benches' });
    this.tools = element('div', { class: 'row' });
    this.node = element('section', { class: 'class', 'aria-labelledby': 'class-title', hidden: true },
      element('h2', { id: 'class-title' }, tr('the class')), this.summary, this.tools, this.list);
    this.ages = new Map();
  }

  #button(words, message, unseen = '') {
    return element('button', { type: 'button', 'data-focus': JSON.stringify(message), onclick: () => this.desk.do(message) }, words,
      unseen && unseenWords(unseen));
  }

  take(told, real_ms) {
    told.benches.forEach((bench) => { bench.name = personName(bench.name); });
    this.told = told;
    this.told_ms = real_ms;
    this.node.hidden = false;
    if (!told.each) document.body.classList.remove('class-wide');
    renew(this.tools, () => this.#tools(told));
    renew(this.list, () => this.#rows(told));
    this.#tellStuck();
  }

  #rows(told) {
    this.ages.clear();
    const rows = told.benches.filter(({ bench }) => told.each || bench === 0);
    return told.led ? rows.map((bench) => this.#row(bench, told)) : [];
  }

  #tools({ each, led, shelf, lesson }) {
    return [
      led && each && element('button', { type: 'button', 'aria-pressed': String(document.body.classList.contains('class-wide')),
        onclick: ({ currentTarget }) => currentTarget.setAttribute('aria-pressed', String(document.body.classList.toggle('class-wide'))) }, tr('overview')),
      shelf && this.#button(tr('the list of lessons'), { do: 'shelf' }),
      led && (each ? this.#button(tr('all at one bench'), { do: 'each', on: false })
        : this.#button(tr('a bench for each'), { do: 'each', on: true })),
      led && lesson && element('button', { type: 'button', onclick: () => this.#results(false) }, tr('results')),
      led && lesson && element('button', { type: 'button', onclick: () => this.#results(true) }, tr('with names')),
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
      element('span', { class: 'bench-name' }, bench.away ? tr('{name} (away)', { name: bench.name }) : bench.name,
        bench.stuck && element('span', { class: 'stuck-word' }, ` – ${tr('stuck?')}`)),
      element('span', { class: 'bench-words' }, words, words && ' · ', bench.deed || tr('nothing done yet'), ' ', age),
      element('span', { class: 'row' },
        this.#button(tr('look'), { do: 'look_at', bench: bench.bench }, tr(' at {name}', { name: bench.name })),
        wall === bench.bench ? element('span', { class: 'on-wall' }, tr('on the wall'))
          : this.#button(tr('to the wall'), { do: 'wall', bench: bench.bench }, tr(' with {name}', { name: bench.name }))));
  }

  #tellStuck() {
    const { benches, each } = this.told;
    const own = benches.filter(({ bench }) => bench !== 0);
    const stuck = own.filter((bench) => bench.stuck && !bench.away);
    const named = stuck.map(({ name, question }) => question ? tr('{name} (question {question})', { name, question }) : name);
    const at_work = own.filter(({ away }) => !away).length;
    setText(this.summary, !each ? tr('all work at one bench')
      : named.length === 0 ? plural('{n} at work; nobody is stuck', '{n} at work; nobody is stuck', at_work)
        : plural('{n} at work; stuck: {names}', '{n} at work; stuck: {names}', at_work, { names: named.join(', ') }));
  }

  draw({ real_ms }) {
    if (!this.told || real_ms - (this.drawn_ms ?? -Infinity) < 1000) return;
    this.drawn_ms = real_ms;
    for (const { bench, deed_ago_s } of this.told.benches) {
      const age = this.ages.get(bench);
      const ago_s = Math.floor(deed_ago_s + (real_ms - this.told_ms) / 1000);
      if (age) setText(age, ago_s * 1000 < row_age_ms ? tr('just now') : tr('{time} ago', { time: durationText(ago_s) }));
    }
  }
}

function standing({ question, of, over, right, tries, hints }) {
  if (question === null) return '';
  if (over) return tr('done, {right} of {of} right', { right, of });
  const words = [tr('question {number} of {of}', { number: question, of })];
  if (tries > 0) words.push(plural('{n} wrong', '{n} wrong', tries));
  if (hints > 0) words.push(plural('{n} hint', '{n} hints', hints));
  return words.join(', ');
}
