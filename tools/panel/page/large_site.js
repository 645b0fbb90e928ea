// A large site comes in parts: its rooms are listed by bus, and those that are open here are asked for and watched.
import { element, renew, setText } from './element.js';
import { plural, tr } from './words.js';

const most_open = 12;    // as the server allows
const most_listed = 60;

export class LargeSite {
  #asking = false;
  #asked = '';

  constructor(desk) {
    this.desk = desk;
    this.open = new Set();
    this.words = element('p', { role: 'status' });
    this.filter = element('input', { type: 'text', 'aria-label': tr('Find a room'), placeholder: tr('find a room'), autocomplete: 'off',
      oninput: () => this.#list() });
    this.list = element('div', { class: 'room-list' });
    this.node = element('section', { class: 'large-site', hidden: true, 'aria-labelledby': 'rooms-title' },
      element('h2', { id: 'rooms-title' }, tr('rooms')), this.words, this.filter, this.list);
  }

  // Another site, or the same one anew.
  begin(hello) {
    this.node.hidden = !hello.in_parts;
    if (!hello.in_parts || hello.part) return;
    this.whole = hello;
    this.#asked = '';
    const names = new Set(hello.places.map(({ name }) => name));
    for (const name of this.open) if (!names.has(name)) this.open.delete(name);
    this.#list();
  }

  // What is shown is what is open, and where the installer stands.
  look({ people: [installer] }) {
    if (this.node.hidden || this.#asking) return;
    const rooms = [...new Set([installer.place ?? installer.walking?.to, ...this.open])].filter(Boolean).slice(0, most_open);
    if (rooms.join('\n') !== this.#asked) this.#ask(rooms);
  }

  async #ask(rooms) {
    this.#asking = true;
    this.#asked = rooms.join('\n');
    const part = await this.desk.ask({ do: 'rooms', rooms });
    this.#asking = false;
    if (!part) return undefined;
    this.desk.bench.narrow(this.whole, part, rooms, performance.now());
    const left = part.left_out > 0 ? plural('; {n} more in these rooms is left out', '; {n} more in these rooms are left out', part.left_out) : '';
    setText(this.words, tr('{devices} devices in {rooms} rooms; shown: {names}', { devices: String(this.whole.device_count), rooms: this.whole.places.length,
      names: rooms.join(', ') }) + left);
    this.#list();
    return this.look(this.desk.bench.state); // somebody may have walked on, or opened another one
  }

  #list() { renew(this.list, () => this.#listed()); }

  #listed() {
    const wanted = this.filter.value.trim().toLowerCase();
    const found = this.whole.places.filter(({ name, plates, modules }) => name.toLowerCase().includes(wanted) && plates + modules > 0);
    const shown = [...found].sort((a, b) => Number(this.open.has(b.name)) - Number(this.open.has(a.name))).slice(0, most_listed);
    const buses = new Map();
    for (const room of shown) {
      const bus = room.buses.join(', ');
      if (!buses.has(bus)) buses.set(bus, []);
      buses.get(bus).push(room);
    }
    return [...[...buses].map(([bus, rooms]) => element('details', { open: buses.size < 4 || wanted !== '' },
      element('summary', {}, plural('bus {bus}: {n} room', 'bus {bus}: {n} rooms', rooms.length, { bus })), element('div', { class: 'row' }, rooms.map((room) => this.#button(room))))),
    ...(found.length > shown.length ? [element('p', { class: 'quiet' }, plural('and {n} more: say part of a name', 'and {n} more: say part of a name', found.length - shown.length))] : [])];
  }

  #button({ name, plates, modules }) {
    const isOpen = this.open.has(name);
    return element('button', { type: 'button', 'aria-pressed': String(isOpen), 'data-room': name, 'data-focus': name, onclick: () => this.#toggle(name) },
      `${name}: ${[plates > 0 && `${plates} P`, modules > 0 && `${modules} M`].filter(Boolean).join(', ')}`);
  }

  #toggle(name) {
    if (this.open.has(name)) this.open.delete(name);
    else if (this.open.size < most_open - 1) this.open.add(name);
    else this.desk.complain(plural('No more than {n} room is shown at once. Close one first.',
      'No more than {n} rooms are shown at once. Close one first.', most_open));
    this.#list();
    this.look(this.desk.bench.state);
  }
}
