// Rooms and who is in them. A device opens to what can be said of it.
import { element } from './element.js';
import { renew } from './keep_focus.js';
import { sayingsOf } from './sentences.js';

export class RoomsView {
  #open = null;
  #rooms = [];
  #said = new Map();

  constructor({ say }) {
    this.node = document.querySelector('#rooms');
    this.say = say;
  }

  show(rooms) {
    this.#rooms = rooms;
    this.#draw();
  }

  // What was last seen of each, under its label.
  showSeen({ told, answered = [] }) {
    const said = new Map();
    const take = (text) => {
      for (const part of text.split(', ')) {
        for (const device of this.#rooms.flatMap((room) => room.devices)) {
          if (part.startsWith(`${device.label} `)) said.set(device.name, part.slice(device.label.length + 1));
          else if (part.startsWith(`the lamp of ${device.label} `)) said.set(device.name, `lamp ${part.slice(device.label.length + 13)}`);
        }
      }
    };
    for (const { kind, text } of told) if (kind !== 'done') take(text);
    for (const { seen } of answered) take(seen);
    const same = said.size === this.#said.size && [...said].every(([name, text]) => this.#said.get(name) === text);
    this.#said = said;
    if (!same) this.#draw();
  }

  #draw() {
    renew(this.node, this.#rooms.map((room, index) => element('section', { class: 'room', 'aria-labelledby': `room-${index}` },
      element('h3', { id: `room-${index}` }, room.name ?? 'the only room'),
      element('ul', {}, room.devices.map((device) => this.#device(device))))));
  }

  #device(device) {
    const open = this.#open === device.name;
    const fact = device.kind === 'plate' ? `plate ${device.switches}` : device.intended ?? 'module';
    const seen = this.#said.get(device.name);
    return element('li', { class: `device ${device.kind}` },
      element('button', { type: 'button', class: 'device-name', 'data-key': device.name, 'aria-expanded': String(open), onclick: () => {
        this.#open = open ? null : device.name;
        this.#draw();
      } }, element('span', { class: 'label' }, device.label), ' ', element('small', {}, device.neighbour ? `next door, ${fact}` : fact),
      seen ? element('span', { class: 'last-seen' }, ` ${seen}`) : null),
      open ? this.#sayings(device) : null);
  }

  #sayings(device) {
    return element('div', { class: 'sayings' }, sayingsOf(device).map(({ name, sentences }) =>
      element('div', { role: 'group', 'aria-label': `${device.label}: ${name}`, class: 'row' }, element('span', { class: 'group-name' }, name),
        sentences.map(({ words, line, kind }) => element('button', { type: 'button', class: `saying kind-${kind}`, 'data-key': line,
          'aria-label': `${device.label}: ${words}`, onclick: () => this.say(line) }, words)))));
  }
}
