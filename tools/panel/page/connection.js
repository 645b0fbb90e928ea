// The line to the server: one WebSocket that comes back by itself after it was lost.
import { tr } from './words.js';

const kept = 'drybus-panel-seat';
const waits_ms = [250, 500, 1000, 2000, 4000];

export class Connection extends EventTarget {
  #socket = null;
  #failures = 0;
  #ref = 0;
  #waiting = new Map(); // ref -> what to do with the answer
  #shutFor = '';
  #key = sessionStorage.getItem(kept);

  constructor(url) {
    super();
    this.url = url;
  }

  open() {
    // With the key to the seat that this page had, also before it was loaded anew: name and controls go with it.
    const socket = new WebSocket(this.#key ? `${this.url}?seat=${this.#key}` : this.url);
    this.#socket = socket;
    socket.addEventListener('open', () => {
      this.#failures = 0;
      this.#tell('line', { up: true });
    });
    socket.addEventListener('message', (event) => this.#take(event.data));
    socket.addEventListener('close', (event) => this.#lost(event));
  }

  get up() { return this.#socket?.readyState === WebSocket.OPEN; }

  // Sends a command. The promise gives the answer (`done`, `saved`, `branch_view`) or fails with what the server said.
  ask(message) {
    if (!this.up) return Promise.reject(new Error(tr('There is no line to the server.')));
    const ref = ++this.#ref;
    return new Promise((answered, failed) => {
      this.#waiting.set(ref, { answered, failed });
      this.#socket.send(JSON.stringify({ ...message, ref }));
    });
  }

  #take(text) {
    const message = JSON.parse(text);
    if (message.type === 'hello' || message.type === 'shelf') this.#keep(message.you.key);
    const waiting = this.#waiting.get(message.ref);
    if (waiting) {
      this.#waiting.delete(message.ref);
      if (message.type === 'refused') waiting.failed(Object.assign(new Error(message.why), { code: message.code }));
      else waiting.answered(message);
    } else {
      this.#tell('message', message);
    }
  }

  #keep(key) {
    this.#key = key;
    sessionStorage.setItem(kept, key);
  }

  #lost({ reason }) {
    this.#shutFor = reason;
    for (const { failed } of this.#waiting.values()) failed(new Error(tr('The line to the server was lost.')));
    this.#waiting.clear();
    this.#tell('line', { up: false, reason: this.#shutFor });
    const wait = waits_ms[Math.min(this.#failures++, waits_ms.length - 1)];
    setTimeout(() => this.open(), wait);
  }

  #tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}
