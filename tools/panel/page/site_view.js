// The site: a room for each place, with what hangs on its walls and who stands in it.
import { drawn, element, renew, setClass, unseenWords } from './element.js';
import { ModuleView } from './module_view.js';
import { personName } from './names.js';
import { PlateView } from './plate_view.js';
import { durationText } from './times.js';
import { tr } from './words.js';

const figure = () => drawn('svg', { class: 'figure', viewBox: '0 0 24 40', 'aria-hidden': 'true' },
  drawn('circle', { cx: 12, cy: 6, r: 5 }), drawn('path', { d: 'M4 14H20V26H17V39H13V28H11V39H7V26H4Z' }));

export class SiteView {
  constructor(hello, { scope = '', desk = null, areas }) {
    this.hello = hello;
    this.scope = scope;
    this.areas = areas;
    areas.forget(scope === '' ? '' : scope);
    const options = { scope, hello, desk };
    this.devices = new Map([
      ...hello.plates.map((spec) => [spec.name, new PlateView(spec, options)]),
      ...hello.modules.map((spec) => [spec.name, new ModuleView(spec, options)])]);
    this.rooms = new Map(hello.places.map(({ name }) => [name, this.#room(name, desk)]));
    this.node = element('div', { class: 'rooms' }, [...this.rooms.values()].map(({ node }) => node));
  }

  #room(name, desk) {
    const here = [...this.devices.values()].filter(({ spec }) => spec.place === name);
    const visitors = element('div', { class: 'visitors' });
    const walk = desk && element('button', { type: 'button', class: 'go', onclick: () => desk.walk(name) });
    const unseen = element('span', { class: 'nobody' }, tr('nobody looks'));
    const node = element('section', { class: 'room', 'aria-label': `${this.scope}${name}` },
      element('header', {}, element('div', { class: 'room-name' }, element('h3', {}, name), unseen), visitors, walk),
      element('div', { class: 'wall' }, here.map((device) => device.node)));
    const modules = here.filter(({ spec }) => 'intended' in spec).length;
    node.style.setProperty('--plates', here.length - modules);
    node.style.setProperty('--modules', modules);
    return { node, visitors, walk, unseen };
  }

  update(state) {
    this.state = state;
    for (const [name, device] of Object.entries(state.devices)) this.devices.get(name)?.update(device);
  }

  draw(frame) {
    for (const device of this.devices.values()) device.draw(frame);
    const standing = (place) => this.state.people.filter((person) => person.place === place).map(({ name }) => name);
    for (const place of this.rooms.keys()) {
      this.areas.showSlowly(`${this.scope}room:${place}`, standing(place).join('\n'), frame.real_ms,
        (names) => this.#peopleIn(place, names.split('\n').filter(Boolean)));
    }
  }

  #peopleIn(place, names) {
    const { node, visitors, walk, unseen } = this.rooms.get(place);
    const installer = this.hello.people[0];
    const isHere = names.includes(installer);
    visitors.replaceChildren(...names.map((name) => element('span', { class: 'person' }, figure(), personName(name))));
    setClass(node, 'unseen', names.length === 0);
    unseen.hidden = names.length > 0;
    if (!walk) return;
    const from = this.state.people[0].place ?? this.state.people[0].walking?.from;
    const takes = this.hello.walks.find((leg) => leg.from === from && leg.to === place)?.takes_s;
    this.#labelWalk(place, takes);
    walk.hidden = isHere;
    // The walk from where the installer now stands is another one for every room.
    if (isHere) for (const other of this.rooms.keys()) this.#tellWalk(other, place);
  }

  #tellWalk(to, from) {
    const { walk } = this.rooms.get(to);
    const takes = this.hello.walks.find((leg) => leg.from === from && leg.to === to)?.takes_s;
    if (walk && takes !== undefined) this.#labelWalk(to, takes);
  }

  #labelWalk(place, takes_s) {
    renew(this.rooms.get(place).walk, () => [element('span', {}, tr('go'), unseenWords(tr(' to {place}', { place })),
      takes_s > 0 ? `, ${durationText(takes_s)}` : '')]);
  }

  // What the flash limiter has to plan for.
  wants(speed) {
    return [...this.devices.values()].map(({ indicator }) => indicator.wants(speed)).filter(Boolean);
  }
}
