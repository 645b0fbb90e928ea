// What the installer is doing, in words, and how far it has come.
import { element, setText } from './element.js';
import { familyOf } from './families.js';
import { personName } from './names.js';
import { durationText } from './times.js';
import { tr } from './words.js';

export class DoingView {
  constructor(desk) {
    this.desk = desk;
    this.words = element('span', { class: 'words' });
    this.progress = element('progress', { max: 1, value: 0, hidden: true, 'aria-label': tr('How far it has come') });
    this.skip = element('button', { type: 'button', hidden: true, onclick: () => desk.arrive() }, tr('skip the walk'));
    this.node = element('div', { class: 'doing' }, this.words, this.progress, this.skip);
    this.at_ms = -Infinity;
  }

  // Four times a second is enough for a bar; a new deed shows at once.
  draw({ areas, now_s, real_ms }, [installer], hello) {
    const { doing, walking, place, name } = installer;
    const who = personName(name);
    const text = walking ? tr('{name} to {place}', { name: who, place: walking.to }) : doing ? `${who}: ${doing.text}`
      : tr('{name} in {place}', { name: who, place });
    const isNew = text !== this.text && areas.showSlowly('doing', text, real_ms, () => { this.text = text; });
    if (!isNew && (text !== this.text || real_ms - this.at_ms < 250)) return;
    this.at_ms = real_ms;
    this.skip.hidden = !walking || !this.desk.leads;
    if (!doing) return this.#tell(text, null);
    const goal_s = doing.end_s ?? doing.begin_s + gestureOf(doing, familyOf(hello, doing.device));
    const done_s = Math.max(0, now_s - doing.begin_s);
    const isHold = doing.end_s === null;
    const time = isHold ? durationText(done_s) : walking ? tr('{time} to go', { time: durationText(Math.ceil(goal_s - now_s)) }) : '';
    this.#tell(time ? `${text}, ${time}` : text, done_s / (goal_s - doing.begin_s));
    return undefined;
  }

  #tell(text, part) {
    setText(this.words, text);
    this.progress.hidden = part === null || !Number.isFinite(part);
    if (!this.progress.hidden) this.progress.value = Math.min(1, part);
  }
}

// While a button is held, the bar fills towards what would put the device in setup.
function gestureOf({ buttons }, { plate, module }) {
  const same = (gesture) => gesture.buttons.length === buttons.length && gesture.buttons.every((b) => buttons.includes(b));
  const gesture = [plate.setup_gesture, module.setup_gesture].find(same);
  return gesture?.for_s ?? plate.long_press_s;
}
