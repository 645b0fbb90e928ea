// The one question, or the one step that is dictated, and what may be answered.
import { element } from './element.js';
import { renew } from './keep_focus.js';

const nothing_more = 'Nothing more can be asked or dictated: somebody has to go there.';

export class AskedView {
  constructor({ answer, offer, cancel, say, before }) {
    this.node = document.querySelector('#asked');
    Object.assign(this, { answer, offer, cancel, say, before });
  }

  // `lacking`: the answer that was given and still needs to be told what is seen, or null.
  show(call, lacking) {
    this.node.dataset.stage = call.stage;
    renew(this.node, [...this.#content(call, lacking), call.working ? element('p', { class: 'working' }, 'Working it out …') : null]);
  }

  #head(words) { return element('h2', { id: 'asked-name' }, words); }

  #content(call, lacking) {
    if (call.failed) return [this.#head('It cannot be worked out'), element('p', { class: 'words' }, call.failed)];
    switch (call.stage) {
      case 'intake': return this.#intake(call);
      case 'listening': return this.#listening(call);
      case 'check': return [this.#head('Ask'), ...this.#question(call, lacking)];
      case 'proof': return [this.#head(`Proof, look ${call.proof.number} of ${call.proof.of}`), ...this.#question(call, lacking)];
      case 'cure': return this.#step(call, lacking);
      case 'proved': return [this.#head('Proved right'), element('p', { class: 'words' }, call.not_looked_at.length === 0
        ? 'Every module obeyed its plate, off and on, and showed itself at its own channel.'
        : `Right as far as anybody could look. Nobody looked at this: ${call.not_looked_at.join(' ')}`)];
      default: return [this.#head('No cure'), ...call.reasons.map((reason) => element('p', { class: 'words' }, reason)), element('p', {}, nothing_more)];
    }
  }

  #listening(call) {
    const before = { all: 'All had their addresses before this.', none: 'All are new, as from the factory.',
      some: 'Some had their addresses before this.' }[call.before];
    const choice = (words, addressed) => element('button', { type: 'button', 'data-key': words, onclick: () => this.before(addressed) }, words);
    return [this.#head('Listening'),
      element('p', { class: 'words' }, 'Write what they say as they say it. With the first thing that somebody saw come explanations, and the one question that tells most.'),
      element('p', {}, before),
      call.told.length === 0 ? element('div', { class: 'row' }, call.before !== 'all' ? choice('they had their addresses', true) : null,
        call.before !== 'none' ? choice('they are all new', false) : null) : null];
  }

  #intake(call) {
    return [this.#head('Ask'), element('p', { class: 'words' }, call.prompt),
      call.offered.length > 0 ? element('div', { class: 'row' }, call.offered.map((word) =>
        element('button', { type: 'button', 'data-key': word, onclick: () => this.say(word) }, word))) : null,
      call.lines.length > 0 ? element('ol', { class: 'lines', 'aria-label': 'Answered so far' }, call.lines.map((line) => element('li', {}, line))) : null];
  }

  #question(call, lacking) {
    const minutes = call.minutes ? Math.max(1, Math.round(call.minutes)) : 0;
    return [call.caution ? element('p', { class: 'caution' }, element('strong', {}, 'Caution. '), call.caution) : null,
      element('p', { class: 'words' }, call.question),
      minutes > 0 && call.stage === 'check' ? element('p', { class: 'quiet' }, `About ${minutes} min for whoever looks.`) : null,
      ...(lacking ? this.#more(call, lacking) : [this.#buttons(call)])];
  }

  #step(call, lacking) {
    const { number, of, text, shows, caution, afresh } = call.step;
    return [this.#head(`Dictate, step ${number} of ${of}`),
      afresh && number === 1 ? element('p', {}, 'No explanation has a cure by itself: everything is done afresh.') : null,
      caution ? element('p', { class: 'caution' }, element('strong', {}, 'Caution. '), caution) : null,
      element('p', { class: 'words dictated' }, text),
      shows ? element('p', { class: 'shows' }, `Then ${shows}.`) : null,
      ...(lacking ? this.#more(call, lacking) : [this.#buttons(call)])];
  }

  #buttons(call) {
    return element('div', { class: 'row answers', role: 'group', 'aria-label': 'Answers' },
      call.choices.filter((word) => word !== 'back' && word !== 'quit').map((word, index) =>
        element('button', { type: 'button', class: index === 0 ? 'main' : undefined, 'data-key': word, disabled: call.working,
          onclick: () => this.answer(word) }, word)));
  }

  #more(call, word) {
    const rest = [element('p', { class: 'words small', id: 'more' }, call.asks[word])];
    if (call.lacks[word] === 'sight') {
      rest.push(element('ol', { class: 'offers', 'aria-labelledby': 'more' }, call.offers.map((words, index) =>
        element('li', {}, element('button', { type: 'button', 'data-key': `offer-${index}`, onclick: () => this.offer(index) }, words)))));
    }
    rest.push(element('p', { class: 'quiet' }, call.lacks[word] === 'sight' ? 'Or write it in the line: its number, or a sentence about any device.'
      : 'Write it in the line, such as 23/4.'));
    rest.push(element('button', { type: 'button', 'data-key': 'cancel', onclick: () => this.cancel() }, 'not yet'));
    return rest;
  }
}
