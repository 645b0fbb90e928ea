// The questions of the lesson: goes to where each is asked, takes the answer, tells what is right once it is over.
import { element } from './element.js';
import { clockText, durationText } from './times.js';

const longest_watch_s = 20;
const verdicts = {
  right: 'That is right.',
  again: 'That is not so. Once more.',
  told: 'That is not so.',
};

class LessonCard {
  #stop_s = 0;
  #asked = null;
  #watching = false;

  constructor(panel) {
    this.panel = panel;
    this.title = element('h2', { id: 'lesson-title', tabindex: -1 });
    this.body = element('div', { class: 'lesson-body' });
    this.outcome = element('div', { class: 'lesson-outcome', role: 'status' });
    this.node = element('section', { class: 'lesson', 'aria-labelledby': 'lesson-title' }, this.title, this.body, this.outcome);
    document.getElementById('aside').prepend(this.node);
    requestAnimationFrame(() => this.#frame());
  }

  async begin() {
    await this.#do({ do: 'curtain', drawn: true });
    await this.#do({ do: 'demo', pause_at: ['note'] });
    await this.#do({ do: 'pause' });
    this.story = this.panel.bench.state.branch;
    document.title = `${this.#lesson({ do: 'question' }).question.title} – drybus`;
    this.#next();
  }

  #do(message) { return this.panel.connection.ask(message); }
  #lesson(message) { return this.panel.connection.lesson(message); }
  #now_s() { return this.panel.clock.now_s(performance.now()); }

  #next() {
    const { question } = this.#lesson({ do: 'question' });
    this.#asked = question;
    this.outcome.replaceChildren();
    if (question.over) return this.#over(question);
    this.#stop_s = question.at_s;
    if (this.#isThere()) return this.#ask();
    this.title.textContent = `Question ${question.number} of ${question.of}`;
    this.body.replaceChildren(
      element('p', {}, `It is asked at ${clockText(question.at_s)}.`),
      element('div', { class: 'row' },
        element('button', { type: 'button', class: 'main watch', onclick: () => this.#watch() }, '▶ watch the story up to there'),
        element('button', { type: 'button', class: 'straight', onclick: () => this.#arrive() }, 'go straight there')));
    return this.title.focus({ preventScroll: true });
  }

  #isThere() {
    const { state } = this.panel.bench;
    return state.branch === this.story && !state.clock.playing && Math.abs(state.clock.now_s - this.#stop_s) < 1e-6;
  }

  async #watch() {
    await this.#toStory();
    const left_s = this.#stop_s - this.#now_s();
    if (left_s < 0) return this.#arrive();
    await this.#do({ do: 'speed', speed: Math.max(1, left_s / longest_watch_s) });
    this.#watching = true;
    return this.#do({ do: 'play' });
  }

  async #toStory() {
    if (this.panel.bench.state.branch !== this.story) await this.#do({ do: 'choose', branch: this.story });
  }

  async #arrive() {
    this.#watching = false;
    await this.#toStory();
    await this.#do({ do: 'pause' });
    await this.#do({ do: 'seek', at_s: this.#stop_s });
    await this.#do({ do: 'speed', speed: 1 });
    this.#ask();
  }

  // While the story plays: at the stop, or stopped on the way at somebody's note, which is another question's.
  #frame() {
    requestAnimationFrame(() => this.#frame());
    if (!this.#watching) return;
    const { state } = this.panel.bench;
    if (this.#now_s() >= this.#stop_s) this.#arrive();
    else if (state.pause) this.#do({ do: 'play' });
  }

  #ask() {
    const { number, of, ask, kind, hints_left } = this.#asked;
    this.title.textContent = `Question ${number} of ${of}, at ${clockText(this.#stop_s)}`;
    const hint = element('button', { type: 'button', class: 'hint', onclick: () => this.#hint() }, 'a hint');
    hint.hidden = hints_left === 0;
    this.hint = hint;
    this.body.replaceChildren(element('p', { class: 'question' }, ask), this.#fields(kind),
      element('div', { class: 'row' }, hint));
    this.title.focus({ preventScroll: true });
  }

  #fields(kind) {
    if (kind === 'choice') return this.#choices(this.#asked.options.map((words, i) => ({ value: String(i + 1), shown: words })));
    if (kind === 'device' || kind === 'place') return this.#choices(this.#asked.names);
    if (kind === 'number') return this.#typed('a number', 'number');
    return this.#pressing();
  }

  #choices(choices) {
    return element('div', { class: 'choices' }, choices.map(({ value, shown }) =>
      element('button', { type: 'button', class: 'choice', 'data-value': value, onclick: () => this.#answer(value) }, shown)));
  }

  #typed(words, name) {
    const input = element('input', { type: 'text', class: 'typed', 'aria-label': words, name, autocomplete: 'off' });
    return element('form', { class: 'row', onsubmit: (event) => { event.preventDefault(); this.#answer(input.value); } },
      input, element('button', { type: 'submit', class: 'main' }, 'answer'));
  }

  #pressing() {
    const { goal, within_s } = this.#asked;
    return element('div', { class: 'pressing' },
      element('p', {}, `In the end: ${goal.join(', ')}. You have ${durationText(within_s)} of the bench's clock.`),
      element('p', {}, 'Press, hold and walk at the bench itself.'),
      element('div', { class: 'row' },
        element('button', { type: 'button', class: 'main judge', onclick: () => this.#tell(this.#lesson({ do: 'judge' })) }, 'done: judge it'),
        element('button', { type: 'button', class: 'anew', onclick: () => this.#arrive() }, 'begin anew from the stop')));
  }

  #hint() {
    const { hint, question } = this.#lesson({ do: 'hint' });
    if (hint) this.outcome.replaceChildren(element('p', { class: 'told-hint' }, hint));
    this.hint.hidden = question.hints_left === 0;
  }

  #answer(text) { this.#tell(this.#lesson({ do: 'answer', text })); }

  #tell(told) {
    if (told.complaint) return this.outcome.replaceChildren(element('p', {}, told.complaint));
    const words = [element('p', { class: `verdict ${told.verdict}` }, verdicts[told.verdict])];
    if (told.verdict === 'again') return this.outcome.replaceChildren(...words);
    const one = this.#asked.kind === 'press' ? 'One way' : 'Right';
    words.push(element('p', { class: 'told' }, `${one}: ${told.right.join(this.#asked.kind === 'press' ? '; ' : ' or ')}`));
    if (told.uncovered.length > 0) words.push(element('p', { class: 'told uncovered' }, `Nobody could see: ${told.uncovered.join('; ')}`));
    if (told.because) words.push(element('p', {}, told.because));
    words.push(element('button', { type: 'button', class: 'main on', onclick: () => this.#next() }, 'go on'));
    for (const button of this.body.querySelectorAll('button, input')) button.disabled = true;
    return this.outcome.replaceChildren(...words);
  }

  async #over({ right, of }) {
    this.title.textContent = `${right} of ${of} right`;
    this.body.replaceChildren(element('p', {}, 'The curtain is open now: the bench is yours.'));
    await this.#do({ do: 'curtain', drawn: false });
    this.title.focus({ preventScroll: true });
  }
}

const { drybusPanel: panel } = window;
panel.bench.addEventListener('replaced', () => {
  const card = new LessonCard(panel);
  window.drybusLesson = card;
  card.begin();
}, { once: true });
