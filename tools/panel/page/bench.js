// What the page knows of the bench: `hello` once, and the state as the server's messages left it.
// Tells `hello`, `replaced` (all is new) and `changed` (detail: the message).

const longest_timeline = 4000;

export class Bench extends EventTarget {
  hello = null;
  state = null;

  take(message, real_ms) {
    if (message.type === 'hello') this.#greet(message);
    else if (message.type === 'state') this.#replace(message, real_ms);
    else if (message.type === 'changed' && this.state) this.#merge(message, real_ms);
    else if (message.type === 'viewers' && this.state) this.#seat(message);
  }

  // Its state comes next; until then nothing of the old one is drawn.
  #greet(hello) {
    this.hello = hello;
    this.state = null;
    this.#tell('hello', hello);
  }

  #replace(state, real_ms) {
    this.state = state;
    this.#tell('replaced', state, real_ms);
  }

  // Of a large site these rooms are all that is shown from now on.
  narrow(whole, part, rooms, real_ms) {
    this.hello = { ...whole, part: true, places: whole.places.filter(({ name }) => rooms.includes(name)), plates: part.plates,
      modules: part.modules, links: part.links, media: part.media, walks: part.walks };
    Object.assign(this.state, { devices: part.devices, links: part.link_states });
    this.#tell('hello', this.hello);
    this.#tell('replaced', this.state, real_ms);
  }

  #merge(message, real_ms) {
    const { state } = this;
    for (const key of ['clock', 'people', 'findings', 'branches', 'branch', 'pause']) {
      if (key in message) state[key] = message[key];
    }
    Object.assign(state.devices, this.hello.in_parts ? this.#shown(message.devices) : message.devices);
    Object.assign(state.links, message.links);
    if (message.telegrams) state.telegrams = withNew(state.telegrams, message.telegrams, 40);
    if (message.timeline) state.timeline = withNew(state.timeline, message.timeline, longest_timeline);
    this.#tell('changed', message, real_ms);
  }

  // What was told of a room that is closed by now is nobody's.
  #shown(devices = {}) {
    return Object.fromEntries(Object.entries(devices).filter(([name]) => name in this.state.devices));
  }

  #seat(viewers) {
    this.state.viewers = viewers;
    this.#tell('changed', { viewers });
  }

  #tell(name, detail, real_ms) {
    this.dispatchEvent(Object.assign(new CustomEvent(name, { detail }), { real_ms }));
  }
}

// By `entry`: what came again replaces what was there; the oldest go.
export function withNew(known, come, most) {
  const again = new Map(come.map((item) => [item.entry, item]));
  const kept = known.map((item) => {
    const newer = again.get(item.entry);
    again.delete(item.entry);
    return newer ?? item;
  });
  return [...kept, ...again.values()].slice(-most);
}

export const isModule = (device) => 'load' in device;

// The level of a load at a moment, in percent.
export function levelAt(load, now_s) {
  if (load.end_s === null || now_s >= load.end_s) return load.to;
  if (now_s <= load.begin_s) return load.level;
  return load.level + (load.to - load.level) * (now_s - load.begin_s) / (load.end_s - load.begin_s);
}
