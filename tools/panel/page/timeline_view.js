// The running timeline: a lane for the installer and for each device, findings below, and a handle to drag time back.
import { drawn, element, setAttribute } from './element.js';
import { findingName, personName } from './names.js';
import { axisLength, axisMarks, deviceLane, personLane } from './timeline_lanes.js';
import { clockText, spokenTime } from './times.js';
import { tr } from './words.js';

const lane = 22;       // height, in the units of the drawing
const across = 1000;   // width of the plot, in the same units as a lane is high; stretched to the page
const most_lanes = 12;
const lanes_of_many = 6;
const all_the_time = ['indicator', 'level', 'power_up'];
const seek_pause_ms = 90;

export class TimelineView {
  #seeking = { asked: false, next: null };

  constructor(hello, desk) {
    this.hello = hello;
    this.desk = desk;
    this.all = [...hello.plates, ...hello.modules].map(({ name }) => name);
    this.most = this.all.length > most_lanes ? lanes_of_many : most_lanes;
    this.names = this.all.slice(0, this.most);
    this.plot = drawn('svg', { class: 'plot', preserveAspectRatio: 'none', 'aria-hidden': 'true' });
    this.marks = element('div', { class: 'marks', 'aria-hidden': 'true' });
    this.labels = element('div', { class: 'lane-labels', 'aria-hidden': 'true' });
    this.slider = element('input', { type: 'range', class: 'scrub', min: 0, step: 'any', value: 0,
      'aria-label': tr('Time: drag back to see it again'),
      oninput: () => this.#seekTo(Number(this.slider.value)),
      onkeydown: (event) => this.#key(event) });
    this.titles = element('div', { class: 'lane-names', 'aria-hidden': 'true' });
    this.node = element('section', { class: 'timeline', 'aria-labelledby': 'timeline-title' },
      element('h2', { id: 'timeline-title', class: 'visually-hidden' }, tr('timeline')),
      this.titles,
      element('div', { class: 'lanes' }, this.marks, element('div', { class: 'stack' }, this.plot, this.labels, this.slider)));
    this.#nameLanes();
  }

  #nameLanes() {
    const titles = [personName(this.hello.people[0]), ...this.names, tr('out of step')];
    this.titles.replaceChildren(...titles.map((title) => element('span', {}, title)));
    this.node.style.setProperty('--lanes', titles.length);
  }

  // Of more devices than there are lanes, those about which something was told last.
  #chooseLanes(timeline) {
    if (this.all.length <= this.most) return;
    const told = new Set();
    for (let i = timeline.length - 1; i >= 0 && told.size < this.most; --i) {
      const { who, kind } = timeline[i];
      if (who && !all_the_time.includes(kind)) told.add(who);
    }
    const chosen = this.all.filter((name) => told.has(name));
    const names = [...chosen, ...this.all.filter((name) => !told.has(name))].slice(0, this.most);
    if (names.join() === this.names.join()) return;
    this.names = names;
    this.#nameLanes();
  }

  // The lanes are drawn anew when something happened, not whenever time goes on.
  draw({ areas, now_s, real_ms }, state) {
    const { timeline, clock, findings } = state;
    const reached_s = Math.max(clock.reached_s, now_s);
    const length_s = Math.max(axisLength(reached_s), 60);
    const lanes = [state.branch, length_s, timeline.at(-1)?.entry, timeline.length, Math.ceil(reached_s / length_s * 100),
      findings.map(({ key: own, until_s }) => own + until_s)].join('|');
    // Lanes and handle move together, in jumps of a second or so: whatever the handle passes over must not flash.
    const part = this.#seeking.asked ? this.part : Math.round(now_s / length_s * 1000);
    areas.showSlowly('timeline', `${lanes} ${part}`, real_ms, () => {
      if (lanes !== this.lanes) this.#drawLanes(state, reached_s, length_s);
      this.lanes = lanes;
      this.part = part;
      if (this.#seeking.asked) return;
      this.slider.value = now_s;
      setAttribute(this.slider, 'aria-valuetext', tr('{time} of {all}', { time: spokenTime(now_s), all: spokenTime(reached_s) }));
    });
  }

  #drawLanes(state, reached_s, length_s) {
    this.#chooseLanes(state.timeline);
    this.length_s = length_s;
    this.slider.max = length_s;
    const scale = across / length_s;
    const rows = this.names.length + 2;
    this.plot.setAttribute('viewBox', `0 0 ${across} ${rows * lane}`);
    const parts = [drawn('rect', { class: 'reached', x: 0, y: 0, width: reached_s * scale, height: rows * lane })];
    const marks = axisMarks(length_s);
    parts.push(...marks.map((at) => drawn('path', { class: 'rule', d: `M${at * scale} 0V${rows * lane}` })));
    const stays = this.#stays(state, reached_s);
    parts.push(...this.#person(stays, scale));
    this.names.forEach((name, index) => parts.push(
      ...this.#device(deviceLane(state.timeline, name, reached_s), (index + 1) * lane, scale)));
    parts.push(...this.#findings(state.findings, reached_s, (rows - 1) * lane, scale));
    this.plot.replaceChildren(...parts);
    this.labels.replaceChildren(...this.#words(stays, state.findings, rows - 1));
    this.marks.replaceChildren(...marks.map((at) => {
      const mark = element('span', { class: at === length_s ? 'last' : null }, clockText(at, false));
      mark.style.left = `${at / length_s * 100}%`;
      return mark;
    }));
  }

  // Where the installer stood first is only told by the state, as nothing happened to tell it.
  #stays({ timeline, people }, reached_s) {
    const [name] = this.hello.people;
    const moved = timeline.some((line) => line.person === name && line.kind === 'walked');
    if (!moved && people[0].place) this.began = people[0].place;
    return personLane(timeline, name, this.began ?? '', reached_s);
  }

  // In words what the lanes are about, where there is room.
  #words(stays, findings, lastRow) {
    const word = (text, at_s, row, name) => {
      const made = element('span', { class: name }, text);
      made.style.left = `${at_s / this.length_s * 100}%`;
      made.style.top = `calc(${row} * var(--row))`;
      return made;
    };
    const roomy = ({ kind, place, from_s, to_s }) => kind === 'stay' && (to_s - from_s) / this.length_s > 0.012 * (place?.length ?? 0);
    return [...stays.filter(roomy).map(({ place, from_s }) => word(place, from_s, 0, 'place')),
      ...findings.map(({ id, at_s }) => word(findingName(id), at_s, lastRow, 'breach-word revealed'))];
  }

  #person(stays, scale) {
    return stays.map(({ kind, from_s, to_s }) => kind === 'walk' ?
      drawn('path', { class: 'walked', d: `M${from_s * scale} ${lane / 2}H${to_s * scale}` }) :
      drawn('rect', { class: 'stay', x: from_s * scale, y: 4, width: Math.max(1, (to_s - from_s) * scale), height: lane - 8 }));
  }

  #device({ setup, shown, off, stored, pressed }, top, scale) {
    const bar = (name, { from_s, to_s }, y, height) => drawn('rect', { class: name, x: from_s * scale, y: top + y,
      width: Math.max(1.5, (to_s - from_s) * scale), height });
    return [
      drawn('path', { class: 'ground', d: `M0 ${top + lane - 1}H${across}` }),
      ...setup.map((span) => bar('setup revealed', span, 2, 9)),
      ...off.map((span) => bar('cut', span, 1, lane - 3)),
      ...setup.map((span) => bar('lit blink', span, 12, 7)),
      ...shown.map(({ at_s, value }) => bar(`lit ${value}`, { from_s: at_s, to_s: at_s + 9 / scale }, 12, 7)),
      ...pressed.map((span) => bar('pressed', span, 0, 4)),
      ...stored.map(({ at_s }) => drawn('path', { class: 'stored revealed',
        d: `M${at_s * scale - 4} ${top + 1}h8l-4 10z` })),
    ];
  }

  #findings(findings, reached_s, top, scale) {
    return findings.map(({ at_s, until_s }) => drawn('rect', { class: 'breach revealed', x: at_s * scale, y: top + 5,
      width: Math.max(3, ((until_s ?? reached_s) - at_s) * scale), height: 10 }));
  }

  #key(event) {
    const steps = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -10, PageUp: 10 };
    const by = steps[event.key];
    if (!by) return;
    event.preventDefault();
    // The handle comes along in jumps; the clock says where it is.
    const from_s = this.#seeking.asked ? Number(this.slider.value) : this.desk.clock.now_s(performance.now());
    this.#seekTo(Math.max(0, from_s + by));
  }

  // One question at a time: while the server works on one, only the last place asked for is kept.
  #seekTo(at_s) {
    if (this.desk.clock.playing && !this.#seeking.asked) this.desk.do({ do: 'pause' });  // to be looked at
    const wanted = Math.min(at_s, this.desk.bench.state.clock.reached_s);
    this.slider.value = wanted;
    this.#seeking.next = wanted;
    if (!this.#seeking.asked) this.#askNext();
  }

  async #askNext() {
    const seeking = this.#seeking;
    seeking.asked = true;
    while (seeking.next !== null) {
      const at_s = seeking.next;
      seeking.next = null;
      await this.desk.seek(at_s);
      await new Promise((after) => { setTimeout(after, seek_pause_ms); });
    }
    seeking.asked = false;
  }
}
