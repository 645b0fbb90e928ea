// The bus: its wiring with every link, and telegrams that travel on it. What they say is hidden truth.
import { drawn, element, setClass, setText } from './element.js';
import { behindCurtain } from './curtain.js';
import { layOut, way } from './bus_layout.js';
import { linkName } from './names.js';
import { plural, tr } from './words.js';

const columnWidth = 150;
const rowHeight = 54;
const margin = 70;
const travel_ms = 900;   // long enough for a class to follow
const linger_ms = 6000;  // and to read what it was

export class BusView {
  constructor(hello, desk) {
    this.hello = hello;
    this.linkNodes = new Map();
    this.stops = new Map();
    this.layer = drawn('g', { class: 'travellers' });
    this.words = element('span', { class: 'telegram-words' });
    const media = hello.media.map((medium, index) => medium.nodes.length > 0 && this.#medium(medium, index, desk));
    this.node = element('section', { class: 'bus', 'aria-labelledby': 'bus-title' },
      element('header', {}, element('h2', { id: 'bus-title' }, hello.media[0]?.kind === 'radio' ? tr('radio') : tr('bus')),
        behindCurtain(tr('telegrams are hidden'), this.words)), media);
    setClass(this.node, 'many-nodes', this.stops.size > 24);
    this.shown = null;
  }

  #medium(medium, index, desk) {
    const links = this.hello.links.filter((link) => link.medium === index);
    const isRadio = medium.kind === 'radio';
    const layout = layOut(medium.nodes, isRadio ? chain(medium.nodes) : links);
    const width = (layout.columns - 1) * columnWidth + 2 * margin;
    const height = layout.rows * rowHeight + 4;
    const spot = (node) => {
      const { x, y } = layout.at.get(node);
      return { x: margin + x * columnWidth, y: 16 + y * rowHeight };
    };
    const svg = drawn('svg', { class: 'wiring', viewBox: `0 0 ${width} ${height}`, role: 'group',
      'aria-label': isRadio ? tr('Who is on the air') : tr('Wiring of the bus') });
    svg.style.setProperty('--natural', `${width / 16}rem`);
    if (!isRadio) svg.append(...links.map((link) => this.#link(link, spot, desk)));
    svg.append(...medium.nodes.map((node) => this.#stop(node, spot(node))), this.layer);
    this.spots ??= new Map();
    for (const node of medium.nodes) this.spots.set(node, spot(node));
    return svg;
  }

  #link({ name, a, b }, spot, desk) {
    const [from, to] = [spot(a), spot(b)];
    const path = `M${from.x} ${from.y}L${from.x === to.x ? from.x : (from.x + columnWidth * 0.25)} ${to.y === from.y ?
      from.y : to.y}L${to.x} ${to.y}`;
    const middle = { x: (from.x + to.x) / 2 + (from.y === to.y ? 0 : columnWidth * 0.1), y: to.y };
    const mark = drawn('g', { class: 'link-mark', transform: `translate(${middle.x} ${middle.y})` });
    const node = drawn('g', { class: 'link', role: 'button', tabindex: 0, 'data-link': name },
      drawn('rect', { class: 'target', ...target(from, to) }), drawn('path', { class: 'wire', d: path }), mark);
    node.addEventListener('click', () => desk.openLink(name));
    node.addEventListener('keydown', (event) => {
      if (event.key !== 'Enter' && event.key !== ' ') return;
      event.preventDefault();
      desk.openLink(name);
    });
    this.linkNodes.set(name, { node, mark, state: '' });
    return node;
  }

  #stop(name, { x, y }) {
    const isDevice = !this.hello.junctions.includes(name);
    const mark = drawn('g', { class: 'heard-mark', transform: 'translate(0 0)' });
    const node = drawn('g', { class: isDevice ? 'stop' : 'junction', transform: `translate(${x} ${y})` },
      drawn('circle', { r: isDevice ? 9 : 5 }), mark,
      isDevice && drawn('text', { y: 30, 'text-anchor': 'middle' }, name));
    this.stops.set(name, mark);
    return node;
  }

  update(state) {
    this.state = state;
    for (const [name, linkState] of Object.entries(state.links)) {
      const link = this.linkNodes.get(name);
      if (!link || link.state === linkState) continue;
      link.state = linkState;
      link.node.setAttribute('aria-label', tr('Link {name}: {state}', { name, state: linkName(linkState) }));
      link.node.dataset.state = linkState;
      link.mark.replaceChildren(...linkMark(linkState));
    }
  }

  draw(frame) {
    this.#choose(frame);
    this.#move(frame);
  }

  // The newest telegram that has begun is shown; when more come than can be followed, they are counted.
  #choose({ areas, real_ms, now_s, speed, playing }) {
    const begun = this.state.telegrams.filter((telegram) => telegram.begin_s <= now_s + 1e-6);
    const last = begun.at(-1);
    const key = last ? `${last.entry}${last.heard}${last.took}${last.ignored}${last.lost.length}` : 'none';
    if (key === this.shown) return;
    const perSecond = rate(begun, now_s, speed);
    const isBusy = playing && perSecond > 2;
    areas.showSlowly('bus', isBusy ? `busy${Math.floor(real_ms / 2000)}` : key, real_ms, () => {
      this.shown = isBusy ? null : key;
      if (isBusy) return this.#tellBusy(begun, perSecond);
      const isSame = this.telegram?.entry === last?.entry;
      this.telegram = last ?? null;
      if (!isSame) this.began_ms = real_ms;
      setText(this.words, last ? sentence(last) : tr('nothing sent yet'));
      return this.#markStops();
    });
  }

  #tellBusy(begun, perSecond) {
    this.telegram = null;
    const kinds = [...new Set(begun.slice(-8).map(({ kind }) => kind))];
    setText(this.words, plural('busy: about {n} telegram a second ({kinds})', 'busy: about {n} telegrams a second ({kinds})', Math.round(perSecond),
      { kinds: kinds.join(', ') }));
    this.#markStops();
  }

  #markStops() {
    const outcome = new Map();
    const { telegram } = this;
    if (telegram) {
      for (const name of telegram.heard) outcome.set(name, 'heard');
      for (const name of telegram.ignored) outcome.set(name, 'ignored');
      for (const name of telegram.took) outcome.set(name, 'took');
      for (const { device } of telegram.lost) outcome.set(device, 'lost');
      outcome.set(telegram.from, 'sender');
    }
    for (const [name, mark] of this.stops) {
      const what = outcome.get(name) ?? '';
      if (mark.dataset.what === what) continue;
      mark.dataset.what = what;
      mark.replaceChildren(...stopMark(what));
    }
  }

  #move({ real_ms, motion }) {
    const { telegram } = this;
    const part = telegram ? (real_ms - this.began_ms) / travel_ms : 2;
    setClass(this.node, 'travelling', part < 1 && motion);
    setClass(this.node, 'old', real_ms - this.began_ms > linger_ms);
    if (part >= 1 || !motion) {
      if (this.layer.childElementCount > 0) this.layer.replaceChildren();
      return;
    }
    if (this.moving !== telegram.entry) this.#start(telegram);
    for (const { node, route } of this.tokens) {
      const { x, y } = along(route, part);
      node.setAttribute('transform', `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    }
  }

  #start(telegram) {
    this.moving = telegram.entry;
    const links = this.hello.media[0]?.kind === 'radio' ? null : this.hello.links;
    const goals = [...this.spots.keys()].filter((name) => name !== telegram.from);
    this.tokens = goals.map((goal) => ({ goal, route: this.#route(telegram, goal, links) }))
      .filter(({ route }) => route)
      .map(({ route }) => ({ route, node: drawn('g', { class: `token ${telegram.kind}` }, token(telegram.kind)) }));
    this.layer.replaceChildren(...this.tokens.map(({ node }) => node));
  }

  // By the wires that lead on; the air goes straight.
  #route({ from, heard, lost }, goal, links) {
    if (!links) {
      return heard.includes(goal) || lost.some(({ device }) => device === goal) ?
        [this.spots.get(from), this.spots.get(goal)] : null;
    }
    const sound = links.filter(({ name }) => this.state.links[name] !== 'open');
    return way(from, goal, sound)?.map((node) => this.spots.get(node)) ?? null;
  }
}

// About as light as the piece of wire that it covers: what passes must not flash.
const token = (kind) => kind === 'assign' ? drawn('path', { d: 'M-8 -6L8 0L-8 6Z' }) : drawn('circle', { r: 6 });

// Where a finger finds a link: along it, or where it drops to a row of its own beside that.
function target(from, to) {
  if (from.x === to.x) return { x: from.x - 22, y: Math.min(from.y, to.y) + 12, width: 44, height: Math.max(1, Math.abs(to.y - from.y) - 24) };
  const left = from.y === to.y ? 12 : columnWidth * 0.25;
  return { x: Math.min(from.x, to.x) + left, y: to.y - 22, width: Math.abs(to.x - from.x) - left - 12, height: 44 };
}

const chain = (nodes) => nodes.slice(1).map((node, i) => ({ name: '', a: nodes[i], b: node }));

// Telegrams for each second of real time, from those of the last two real seconds.
function rate(telegrams, now_s, speed) {
  return telegrams.filter(({ begin_s }) => begin_s > now_s - 2 * speed).length / 2;
}

// Of many the first.
const some = (names) => names.length > 8 ?
  plural('{names} and {n} more', '{names} and {n} more', names.length - 6, { names: names.slice(0, 6).join(', ') }) : names.join(', ');

export function sentence({ from, text, heard, took, ignored, lost, heard_by: count = heard.length }) {
  const parts = [tr('{name} sends {telegram}', { name: from, telegram: text })];
  const plain = heard.filter((name) => !took.includes(name) && !ignored.includes(name));
  if (took.length > 0) parts.push(tr('taken by {names}', { names: some(took) }));
  if (plain.length > 0) parts.push(tr('heard by {names}', { names: some(plain) }));
  if (ignored.length > 0) parts.push(tr('ignored by {names}', { names: some(ignored) }));
  if (lost.length > 0) parts.push(tr('lost to {names}', { names: some(lost.map(({ device, why }) => `${device} (${why})`)) }));
  if (count > heard.length) parts.push(plural('heard by {n} in all', 'heard by {n} in all', count));
  if (count === 0 && lost.length === 0) parts.push(tr('heard by nobody'));
  return parts.join('; ');
}

function along(route, part) {
  const lengths = route.slice(1).map((to, i) => Math.hypot(to.x - route[i].x, to.y - route[i].y));
  let rest = part * lengths.reduce((sum, length) => sum + length, 0);
  for (const [i, length] of lengths.entries()) {
    if (rest <= length || i === lengths.length - 1) {
      const share = length === 0 ? 1 : Math.min(1, rest / length);
      return { x: route[i].x + (route[i + 1].x - route[i].x) * share, y: route[i].y + (route[i + 1].y - route[i].y) * share };
    }
    rest -= length;
  }
  return route[0];
}

function stopMark(what) {
  switch (what) {
    case 'heard': return [drawn('circle', { class: 'heard', r: 5 })];
    case 'took': return [drawn('path', { class: 'took', d: 'M-8 -7H8L0 8Z' })];
    case 'ignored': return [drawn('circle', { class: 'ignored', r: 6 })];
    case 'lost': return [drawn('path', { class: 'lost', d: 'M-8 -8L8 8M-8 8L8 -8' })];
    case 'sender': return [drawn('rect', { class: 'sender', x: -6, y: -6, width: 12, height: 12 })];
    default: return [];
  }
}

function linkMark(state) {
  switch (state) {
    case 'open': return [drawn('rect', { class: 'gap', x: -12, y: -8, width: 24, height: 16 }),
      drawn('path', { class: 'fault', d: 'M-12 0L8 -10M12 0H16M-16 0H-12' }), label(linkName('open'))];
    case 'shorted': return [drawn('path', { class: 'fault', d: 'M4 -12L-5 1H4L-4 12' }), label(linkName('shorted'))];
    case 'noisy': return [drawn('path', { class: 'fault', d: 'M-14 0L-9 -7L-4 7L1 -7L6 7L11 -7L14 0' }), label(linkName('noisy'))];
    default: return [];
  }
}

const label = (words) => drawn('text', { class: 'fault-words', y: -14, 'text-anchor': 'middle' }, words);
