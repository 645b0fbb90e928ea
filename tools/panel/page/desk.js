// What one can do, as the views call it: every wish goes to the server from here, every refusal is told.
import { openBranch } from './branch_dialog.js';
import { Hands } from './hands.js';
import { openDevice } from './device_dialog.js';
import { openLink } from './link_dialog.js';
import { openNote } from './note_dialog.js';
import { faster, slower } from './speed_scale.js';
import { durationText } from './times.js';
import { tr } from './words.js';

// Hands work at life's speed: a press of a tenth of a second would be minutes at 1,000 times that.
const fastest_for_hands = 2;
const takesTime = ['switches', 'press_for', 'look'];

export class Desk extends EventTarget {
  #wishes = new Map(); // what was asked for and has not been answered

  constructor(connection, bench, clock, say) {
    super();
    this.connection = connection;
    this.bench = bench;
    this.clock = clock;
    this.say = say;
    this.hands = new Hands({
      press: (device, buttons) => this.#press(device, buttons),
      release: () => this.connection.ask({ do: 'release' }).catch(() => {}),
    });
  }

  // The answer, or null after a refusal that was told.
  async ask(message) {
    try {
      return await this.connection.ask(message);
    } catch (error) {
      this.complain(error.message);
      return null;
    }
  }

  do(message) { return this.ask(message); }

  // Hands that are faster than the news go on from what they asked for last. The news comes before the answer.
  async #wish(what, value, message) {
    const wish = { value };
    this.#wishes.set(what, wish);
    const answer = await this.ask(message);
    if (this.#wishes.get(what) === wish) this.#wishes.delete(what);
    return answer;
  }

  #wanted(what, now) { return this.#wishes.has(what) ? this.#wishes.get(what).value : now; }

  // Something done on the site, which may need a walk first.
  act(message) {
    const place = this.#placeOf(message.device);
    if (this.#isElsewhere(place) && takesTime.includes(message.do)) this.#tellWalk(place);
    return takesTime.includes(message.do) ? this.#begin(message) : this.ask(message);
  }

  complain(why) {
    this.say(why);
    this.dispatchEvent(new CustomEvent('complaint', { detail: why }));
  }

  #placeOf(device) {
    const { plates, modules } = this.bench.hello;
    return [...plates, ...modules].find(({ name }) => name === device)?.place ?? null;
  }

  #isElsewhere(place) {
    return place !== null && this.bench.state.people[0].place !== place;
  }

  #tellWalk(place) {
    const from = this.bench.state.people[0].place;
    const leg = this.bench.hello.walks.find((each) => each.from === from && each.to === place);
    const words = leg ? tr('The installer goes to {place} first, {time}.', { place, time: durationText(leg.takes_s) })
      : tr('The installer goes to {place} first.', { place });
    this.say(words);
    this.dispatchEvent(new CustomEvent('notice', { detail: words }));
  }

  // Says whether the button went down. From another room nobody reaches it: the installer walks there first.
  #press(device, buttons) {
    const place = this.#placeOf(device);
    if (this.#isElsewhere(place)) {
      if (this.bench.state.people[0].walking) this.complain(tr('The installer is on the way; skip the walk, or wait.'));
      else this.walk(place);
      return false;
    }
    if (this.clock.speed > fastest_for_hands && this.leads) this.speed(1);
    this.#begin({ do: 'press', device, buttons });
    return true;
  }

  // What takes time sets a clock going that stands. First the deed: it may make a branch of its own.
  async #begin(message) {
    const begun = await this.ask(message);
    if (begun && !this.clock.playing && this.leads) await this.ask({ do: 'play' });
  }

  // Whether the clock is ours; else the server sets it going for who has been lent the hands.
  get leads() { return this.bench.state?.viewers?.you_lead !== false; }

  walk(place) {
    this.#tellWalk(place);
    return this.#begin({ do: 'walk', place });
  }

  // On to the end of the walk.
  arrive() {
    const { walking } = this.bench.state.people[0];
    return walking ? this.seek(walking.end_s) : null;
  }

  seek(at_s) { return this.#wish('seek', at_s, { do: 'seek', at_s }); }

  back(by_s) { return this.seek(Math.max(0, this.#wanted('seek', this.clock.now_s(performance.now())) - by_s)); }

  speed(speed) { return this.#wish('speed', speed, { do: 'speed', speed }); }

  faster() { return this.speed(faster(this.#wanted('speed', this.clock.speed))); }

  slower() { return this.speed(slower(this.#wanted('speed', this.clock.speed))); }

  playOrPause() {
    const play = !this.#wanted('play', this.clock.playing);
    return this.#wish('play', play, { do: play ? 'play' : 'pause' });
  }

  moveCurtain() {
    const drawn = !this.#wanted('curtain', this.bench.state.curtain_drawn);
    return this.#wish('curtain', drawn, { do: 'curtain', drawn });
  }

  branch() {
    const count = this.bench.state.branches.length + 1;
    return this.ask({ do: 'branch', name: tr('Try {number}', { number: count }) });
  }

  // The script, from its start, with pauses where a class may think first, and in a hurry where nobody does anything.
  demonstrate() { return this.ask({ do: 'demo', pause_at: ['note', 'finding'], hurry: true }); }

  note() { openNote(this); }

  openBranch(id) { openBranch(this, id); }

  view(branch, at_s) { return this.ask({ do: 'view', branch, at_s }); }

  layBeside(branch) { this.dispatchEvent(new CustomEvent('beside', { detail: branch })); }

  open(device) { openDevice(this, device); }

  openLink(link) { openLink(this, link); }
}
