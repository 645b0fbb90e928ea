// Where the run's clock stands at any real moment between two messages of the server.

export class SimulatedClock {
  #anchor = { simulated_s: 0, real_ms: 0 };
  #playing = false;
  #speed = 1;
  #farthest_s = Infinity;

  // The server's word: it stood there at this real moment (milliseconds of performance.now).
  set({ now_s, playing, speed, longest_s = Infinity }, real_ms) {
    this.#anchor = { simulated_s: now_s, real_ms };
    this.#playing = playing;
    this.#speed = speed;
    this.#farthest_s = longest_s;
  }

  now_s(real_ms) {
    const { simulated_s, real_ms: since } = this.#anchor;
    if (!this.#playing) return simulated_s;
    return Math.min(this.#farthest_s, simulated_s + Math.max(0, real_ms - since) / 1000 * this.#speed);
  }

  get playing() { return this.#playing; }
  get speed() { return this.#speed; }
}
