// The scenario's own script, played with pauses at its teaching points: first the question, then the answer, which the
// server does not tell before somebody asks for it.
import { element } from './element.js';
import { clockText } from './times.js';
import { tr } from './words.js';

const invitations = {
  note: tr('What do you think?'),
  see: tr('What do you think shows?'),
  finding: tr('Something is out of step. What do you think it is?'),
  end: tr('That was the script.'),
};

export class Demonstration {
  constructor(desk) {
    this.desk = desk;
    this.title = element('h2', { id: 'demonstration-title', tabindex: -1 });
    this.points = element('div', { class: 'points' });
    this.answer = element('button', { type: 'button', class: 'answer', onclick: () => desk.do({ do: 'answer' }) }, tr('show the answer'));
    this.node = element('section', { class: 'demonstration', hidden: true, 'aria-labelledby': 'demonstration-title' },
      this.title, this.points, element('div', { class: 'row' }, this.answer,
        element('button', { type: 'button', class: 'main go-on', onclick: () => desk.do({ do: 'play' }) }, `▶ ${tr('go on')}`)));
  }

  draw({ areas, real_ms }, pause) {
    areas.showSlowly('demonstration', pause ? JSON.stringify(pause) : '', real_ms, () => this.#tell(pause));
  }

  #tell(pause) {
    this.node.hidden = !pause;
    if (!pause) return;
    const [first] = pause.points;
    this.title.textContent = `${clockText(pause.at_s)}  ${invitations[first.kind] ?? tr('What do you think happens?')}`;
    const own = pause.points.map((point) => this.#point(point));
    this.points.replaceChildren(...own);
    this.answer.hidden = !pause.has_answer;
    this.answer.disabled = pause.answered;
    if (!pause.answered) this.title.focus({ preventScroll: true });
  }

  #point({ question, answer, remedy, passed }) {
    const told = passed === false ? tr('{answer} (not so)', { answer }) : answer;
    return element('div', { class: 'point' }, element('p', { class: 'question' }, question),
      answer && element('p', { class: 'told' }, told, remedy && ` ${tr('What to do: {remedy}', { remedy })}`));
  }
}
