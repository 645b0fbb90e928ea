// In place of the line to a server: the bench itself, in this page. Takes the same messages and gives the same answers.

import { tr } from './words.js';

const tick_ms = 33;

// Texts in and out of the bench's memory.
class Bench {
  #module;
  #encoder = new TextEncoder();
  #decoder = new TextDecoder();

  static async start(binary) {
    const bench = new Bench();
    bench.#module = await globalThis.drybusBench({ wasmBinary: binary });
    return bench;
  }

  open(bundle) {
    this.#give('_drybus_open', bundle);
    const wrong = this.#told();
    if (wrong) throw new Error(wrong);
  }

  say(message, real_ms) { this.#give('_drybus_say', message, real_ms); }

  at(real_ms) {
    this.#module._drybus_at(real_ms);
    return JSON.parse(this.#told());
  }

  digest() {
    this.#module._drybus_digest();
    return this.#told();
  }

  #give(call, text, ...more) {
    const bytes = this.#encoder.encode(text);
    const at = this.#module._drybus_room(bytes.length);
    this.#module.HEAPU8.set(bytes, at);
    this.#module[call](at, bytes.length, ...more);
  }

  #told() {
    const at = this.#module._drybus_told();
    return this.#decoder.decode(this.#module.HEAPU8.slice(at, at + this.#module._drybus_told_bytes()));
  }
}

async function binaryOf(text) {
  const packed = Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
  const unpacked = new Blob([packed]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Uint8Array(await new Response(unpacked).arrayBuffer());
}

const carried = (id) => document.getElementById(id).textContent;

export class Connection extends EventTarget {
  #bench = null;
  #ref = 0;
  #waiting = new Map(); // ref -> what to do with the answer

  get up() { return this.#bench !== null; }

  async open() {
    try {
      const bench = await Bench.start(await binaryOf(carried('bench-binary')));
      bench.open(JSON.stringify({ ...JSON.parse(carried('lesson-bundle')), words: JSON.parse(carried('words')) }));
      this.#bench = bench;
    } catch (error) {
      this.#tell('line', { up: false, reason: tr('this browser cannot run the bench ({why})', { why: error.message }) });
      return;
    }
    this.#tell('line', { up: true });
    this.#hear();
    setInterval(() => this.#hear(), tick_ms);
  }

  ask(message) {
    if (!this.up) return Promise.reject(new Error(tr('The bench has not started.')));
    const ref = ++this.#ref;
    const answered = new Promise((resolve, reject) => { this.#waiting.set(ref, { resolve, reject }); });
    this.#bench.say(JSON.stringify({ ...message, ref }), performance.now());
    this.#hear();
    return answered;
  }

  digest() { return this.#bench.digest(); }

  #hear() {
    for (const message of this.#bench.at(performance.now())) this.#take(message);
  }

  #take(message) {
    const waiting = this.#waiting.get(message.ref);
    if (!waiting) return this.#tell('message', message);
    this.#waiting.delete(message.ref);
    if (message.type === 'refused') return waiting.reject(Object.assign(new Error(message.why), { code: message.code }));
    return waiting.resolve(message);
  }

  #tell(name, detail) {
    this.dispatchEvent(new CustomEvent(name, { detail }));
  }
}
