// The questions of a lesson: goes to where each is asked, takes the answer, tells what is right once it is over.
import { element } from './element.js';
import { clockText, durationText } from './times.js';
import { plural, tr } from './words.js';

const longest_watch_s = 20;
const verdicts = {
  right: tr('That is right.'),
  again: tr('That is not so. Once more.'),
  told: tr('That is not so.'),
};

export class LessonCard {
  #stop_s = 0;
  #asked = null;
  #watching = false;

  constructor(desk) {
    this.desk = desk;
    this.title = element('h2', { id: 'lesson-title', tabindex: -1 });
    this.body = element('div', { class: 'lesson-body' });
    this.outcome = element('div', { class: 'lesson-outcome', role: 'status' });
    this.node = element('section', { class: 'lesson', 'aria-labelledby': 'lesson-title' }, this.title, this.body, this.outcome);
  }

  // The bench stands somewhere: now the question can be asked, once.
  begin() {
    if (this.#asked) return;
    this.#asked = {};
    this.#next();
  }

  // Whoever has the controls answers; the others read along.
  get #mine() { return this.desk.bench.state.viewers.you_hold; }
  get #story() { return this.desk.bench.state.branches.find(({ kind }) => kind === 'demo')?.id; }

  // The sentence that matters, for the wall.
  get says() {
    const told = this.outcome.querySelector('.verdict, .told-hint')?.textContent;
    return told ? `${told} ${this.outcome.querySelector('.told')?.textContent ?? ''}` : this.asking;
  }

  #lesson(ask, more = {}) { return this.desk.ask({ do: 'lesson', ask, ...more }); }

  async #next() {
    const told = await this.#lesson('question');
    if (!told) return;
    const { question } = told;
    this.#asked = question;
    this.asking = null;
    this.outcome.replaceChildren();
    if (question.over) return this.#over(question);
    this.#stop_s = question.at_s;
    if (!this.#mine || this.#isThere()) return this.#ask();
    this.title.textContent = tr('Question {number} of {of}', question);
    this.body.replaceChildren(
      element('p', {}, tr('It is asked at {time}.', { time: clockText(question.at_s) })),
      element('div', { class: 'row' },
        element('button', { type: 'button', class: 'main watch', onclick: () => this.#watch() }, `▶ ${tr('watch the story up to there')}`),
        element('button', { type: 'button', class: 'straight', onclick: () => this.#arrive() }, tr('go straight there'))));
    return this.title.focus({ preventScroll: true });
  }

  #isThere() {
    const { state } = this.desk.bench;
    return state.branch === this.#story && !state.clock.playing && Math.abs(state.clock.now_s - this.#stop_s) < 1e-6;
  }

  async #watch() {
    await this.#toStory();
    const left_s = this.#stop_s - this.desk.clock.now_s(performance.now());
    if (left_s <= 0) return this.#arrive();
    await this.desk.speed(Math.max(1, Math.min(4, left_s / longest_watch_s)));
    await this.desk.ask({ do: 'hurry', on: true });
    this.asking = null;
    this.#watching = true;
    return this.desk.ask({ do: 'play' });
  }

  async #toStory() {
    if (this.desk.bench.state.branch !== this.#story) await this.desk.ask({ do: 'choose', branch: this.#story });
  }

  async #arrive() {
    this.#watching = false;
    await this.#toStory();
    await this.desk.ask({ do: 'pause' });
    await this.desk.seek(this.#stop_s);
    await this.desk.speed(1);
    this.#ask();
  }

  // While the story plays: at the stop, or stopped on the way at somebody's note, which is another question's.
  draw({ now_s }) {
    if (!this.#watching) return;
    const { state } = this.desk.bench;
    if (now_s >= this.#stop_s - 1e-6) {
      this.#arrive();
    } else if (state.pause && !this.goingOn) {
      this.goingOn = true;
      this.desk.ask({ do: 'play' }).finally(() => { this.goingOn = false; });
    }
  }

  #ask() {
    const { number, of, ask, kind, hints_left } = this.#asked;
    this.asking = ask;
    this.title.textContent = tr('Question {number} of {of}, at {time}', { number, of, time: clockText(this.#stop_s) });
    const hint = element('button', { type: 'button', class: 'hint', onclick: () => this.#hint() }, tr('a hint'));
    hint.hidden = hints_left === 0 || !this.#mine;
    this.hint = hint;
    this.body.replaceChildren(element('p', { class: 'question' }, ask), this.#fields(kind),
      element('div', { class: 'row' }, hint));
    if (!this.#mine) for (const button of this.body.querySelectorAll('button, input')) button.disabled = true;
    this.title.focus({ preventScroll: true });
  }

  #fields(kind) {
    if (kind === 'choice') return this.#choices(this.#asked.options.map((words, i) => ({ value: String(i + 1), shown: words })));
    if (kind === 'device' || kind === 'place') return this.#choices(this.#asked.names);
    if (kind === 'number') return this.#typed(tr('a number'), 'number');
    return this.#pressing();
  }

  #choices(choices) {
    return element('div', { class: 'choices' }, choices.map(({ value, shown }) =>
      element('button', { type: 'button', class: 'choice', 'data-value': value, onclick: () => this.#answer(value) }, shown)));
  }

  #typed(words, name) {
    const input = element('input', { type: 'text', class: 'typed', 'aria-label': words, name, autocomplete: 'off' });
    return element('form', { class: 'row', onsubmit: (event) => { event.preventDefault(); this.#answer(input.value); } },
      input, element('button', { type: 'submit', class: 'main' }, tr('answer')));
  }

  #pressing() {
    const { goal, within_s } = this.#asked;
    return element('div', { class: 'pressing' },
      element('p', {}, tr("In the end: {goal}. You have {time} of the bench's clock.", { goal: goal.join(', '), time: durationText(within_s) })),
      element('p', {}, tr('Press, hold and walk at the bench itself.')),
      element('div', { class: 'row' },
        element('button', { type: 'button', class: 'main judge', onclick: () => this.#judge() }, tr('done: judge it')),
        element('button', { type: 'button', class: 'anew', onclick: () => this.#arrive() }, tr('begin anew from the stop'))));
  }

  async #judge() {
    const told = await this.#lesson('judge');
    if (told) this.tell(told);
  }

  async #hint() {
    const told = await this.#lesson('hint');
    if (told) this.tell(told);
  }

  async #answer(text) {
    const told = await this.#lesson('answer', { text });
    if (told) this.tell(told);
  }

  tell(told) {
    if (told.complaint) return this.outcome.replaceChildren(element('p', {}, told.complaint));
    if (told.hint !== undefined) {
      if (told.hint) this.outcome.replaceChildren(element('p', { class: 'told-hint' }, told.hint));
      this.hint.hidden = told.question.hints_left === 0;
      return undefined;
    }
    const words = [element('p', { class: `verdict ${told.verdict}` }, verdicts[told.verdict])];
    if (told.verdict === 'again') return this.outcome.replaceChildren(...words);
    const answer = this.#asked.kind === 'press' ? tr('One way: {steps}', { steps: told.right.join('; ') })
      : tr('Right: {answers}', { answers: told.right.join(tr(' or ')) });
    words.push(element('p', { class: 'told' }, answer));
    if (told.uncovered.length > 0) words.push(element('p', { class: 'told uncovered' }, tr('Nobody could see: {facts}', { facts: told.uncovered.join('; ') })));
    if (told.because) words.push(element('p', {}, told.because));
    words.push(element('button', { type: 'button', class: 'main on', onclick: () => this.#next() }, tr('go on')));
    for (const button of this.body.querySelectorAll('button, input')) button.disabled = true;
    return this.outcome.replaceChildren(...words);
  }

  #over({ right, of }) {
    this.title.textContent = plural('{n} of {of} right', '{n} of {of} right', right, { of });
    this.body.replaceChildren(element('p', {}, tr('The curtain is open now: the bench is yours.')));
    this.title.focus({ preventScroll: true });
  }
}
