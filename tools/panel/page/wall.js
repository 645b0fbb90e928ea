// The wall: what a class reads from its seats. One sentence that matters, large; who acts and whom it reaches marked; the rest as
// small as it takes for one screen. Also without it rooms fold until all of them are on the screen.
import { element, setClass, setText } from './element.js';
import { sentence } from './bus_view.js';
import { personName } from './names.js';
import { tr } from './words.js';

// Each step folds more: rooms in which nobody stands, then all, then everything becomes smaller.
const most_fold = 9;
const fastest_to_fold = 4;
const said_s = 4;  // real seconds for which what happened stays said
const fitted_from = '(min-width: 1000px) and (min-height: 560px)';

export class Wall {
  fold = 0;
  raced_ms = -Infinity;
  #due = true;
  #fitted_ms = -Infinity;

  constructor(button) {
    this.button = button;
    this.says = element('p', { class: 'says' });
    this.reaches = element('p', { class: 'reaches' });
    this.node = element('section', { class: 'wall-band', 'aria-label': tr('What happens') }, this.says, this.reaches);
    button.addEventListener('click', () => this.set(!this.on));
    addEventListener('resize', () => this.again());
    this.set(false);
  }

  set(on) {
    this.on = on;
    for (const node of document.querySelectorAll('.acts, .reached, .missed')) node.classList.remove('acts', 'reached', 'missed');
    document.body.classList.toggle('for-wall', on);
    this.button.setAttribute('aria-pressed', String(on));
    this.again();
  }

  // What is shown is another size from now on.
  again() { this.#due = true; }

  draw({ areas, real_ms, now_s, speed, playing }, { state, site, lesson }) {
    if (this.on) {
      this.#mark(areas, real_ms, now_s, speed, state, site);
      areas.showSlowly('wall says', this.#whatMatters(state, lesson), real_ms, (words) => { setText(this.says, words); this.again(); });
      areas.showSlowly('wall reaches', this.#reach(state, now_s, speed), real_ms, (words) => { setText(this.reaches, words); this.again(); });
    }
    if (real_ms - this.#fitted_ms < 300) return;
    // While time races nothing folds: what comes and goes over half the screen would flash.
    const races = playing && speed > fastest_to_fold;
    const isNew = site !== this.site;
    if (races) this.raced_ms = real_ms;
    if (real_ms - this.raced_ms < 1000 && !isNew) return;
    this.site = site;
    const standing = new Set(state.people.map(({ place }) => place));
    for (const [name, { node }] of site.rooms) {
      const folded = !standing.has(name);
      if (node.classList.contains('folded') !== folded) this.again();
      setClass(node, 'folded', folded);
    }
    if (!this.#due && !this.#overflows()) return;
    this.#fitted_ms = real_ms;
    this.#fit();
  }

  #whatMatters({ pause, people: [installer] }, lesson) {
    if (lesson?.says) return lesson.says;
    if (pause) {
      const told = pause.points.find(({ answer }) => answer);
      return told ? told.answer : pause.points[0].question;
    }
    const { doing, walking, place } = installer;
    const name = personName(installer.name);
    if (walking) return tr('{name} walks to {place}', { name, place: walking.to });
    return doing ? `${name}: ${doing.text}` : tr('{name} is in {place}', { name, place });
  }

  // Of telegrams only with the curtain open: behind it there are none.
  #reach({ telegrams, timeline }, now_s, speed) {
    const since_s = now_s - said_s * Math.max(1, speed);
    const telegram = telegrams.filter(({ begin_s, kind }) => begin_s <= now_s + 1e-6 && begin_s > since_s && kind !== 'beacon').at(-1);
    if (telegram) return sentence(telegram);
    const line = timeline.filter(({ at_s, person }) => !person && at_s <= now_s + 1e-6 && at_s > since_s).at(-1);
    return line?.text ?? '';
  }

  #mark(areas, real_ms, now_s, speed, { people: [installer], telegrams }, site) {
    const marks = new Map();
    const telegram = telegrams.filter(({ begin_s, kind }) => begin_s <= now_s + 1e-6 && kind !== 'beacon' && begin_s > now_s - said_s * speed).at(-1);
    for (const name of telegram?.heard ?? []) marks.set(name, 'reached');
    for (const { device } of telegram?.lost ?? []) marks.set(device, 'missed');
    if (installer.doing?.device) marks.set(installer.doing.device, 'acts');
    areas.showSlowly('marks', [...marks].join(';'), real_ms, () => {
      for (const [name, { node }] of site.devices) {
        for (const mark of ['reached', 'missed', 'acts']) setClass(node, mark, marks.get(name) === mark);
      }
    });
  }

  #overflows() {
    const views = document.querySelector('.views');
    return matchMedia(fitted_from).matches && views !== null && views.scrollHeight > views.clientHeight + 1;
  }

  #fit() {
    this.#due = false;
    for (this.fold = this.on ? 1 : 0; ; ++this.fold) {
      document.body.dataset.fold = this.fold;
      if (this.fold >= most_fold || !this.#overflows()) return;
    }
  }
}
