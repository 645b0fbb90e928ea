// What plates and modules have in common: their name, their indicator, what is hidden about them.
import { element, setAttribute, setClass, setText, unseenWords } from './element.js';
import { CountdownRing } from './countdown_ring.js';
import { Indicator } from './indicator.js';
import { behindCurtain } from './curtain.js';
import { familyOf } from './families.js';
import { modeName } from './names.js';
import { plural, tr } from './words.js';

export class DeviceView {
  // scope sets the areas of two pictures side by side apart; desk is null where nothing can be pressed.
  constructor(spec, kind, { scope, hello, desk }) {
    this.spec = spec;
    this.name = spec.name;
    this.scope = scope;
    this.family = familyOf(hello, spec.name);
    this.desk = desk;
    this.area = `${scope}${spec.name}`;
    this.indicator = new Indicator(this.area, spec.name);
    this.ring = new CountdownRing();
    this.mode = element('strong', { class: 'mode' });
    this.facts = element('span', { class: 'facts' });
    this.note = element('p', { class: 'no-power', hidden: true }, tr('no power'));
    this.keys = new Map();
    this.node = element('article', { class: `device ${kind}`, 'aria-label': this.#title(kind), 'data-device': spec.name },
      element('header', {},
        element('div', {}, element('h4', {}, spec.name, spec.intended &&
          element('span', { class: 'intended' }, tr('for {address}', { address: spec.intended }))), element('span', { class: 'label' }, spec.label)),
        desk && element('button', { class: 'more', type: 'button', 'aria-label': tr('More about {name}', { name: spec.name }),
          'aria-haspopup': 'dialog', onclick: () => desk.open(spec.name) }, '⋯')),
      this.indicator.node, this.note);
    this.hidden = behindCurtain(tr('hidden'), this.mode, this.ring.node, this.facts);
  }

  #title(kind) {
    const { name, label, neighbour } = this.spec;
    const words = kind === 'plate' ? (neighbour ? tr("Neighbour's plate {name}", { name }) : tr('plate {name}', { name }))
      : (neighbour ? tr("Neighbour's module {name}", { name }) : tr('module {name}', { name }));
    return `${words}${label ? `, ${label}` : ''}`;
  }

  // A button that can be pressed and held; hint: what it does, small.
  makeKey(button, hint) {
    const node = element('button', { type: 'button', class: 'key', 'data-button': button, disabled: !this.desk },
      unseenWords(`${this.name} `), element('span', { class: 'cap' }, button), ' ', element('small', {}, hint));
    this.keys.set(button, { node });
    this.desk?.hands.attach(node, this.name, [button]);
    return node;
  }

  update(state) {
    this.state = state;
    this.indicator.update(state, this.family.patterns);
  }

  draw(frame) {
    const { areas, real_ms, now_s } = frame;
    this.indicator.draw(frame);
    for (const [button, { node }] of this.keys) this.#drawKey(button, node, frame);
    areas.show(`power:${this.area}`, this.state.powered, real_ms, (powered) => {
      setClass(this.node, 'unpowered', !powered);
      this.note.hidden = powered;
    });
    areas.show(`hidden:${this.area}`, this.hiddenKey(), real_ms, () => this.tellHidden());
    this.ring.draw(this.shownSetup, now_s, real_ms);
  }

  // The light of a key that is down differs by less than a tenth: it need not wait while people can follow.
  #drawKey(button, node, { areas, real_ms, speed }) {
    const down = this.state.down.includes(button);
    const stuck = this.state.stuck.includes(button);
    const apply = () => {
      setClass(node, 'down', down);
      setClass(node, 'stuck', stuck);
    };
    const area = `key:${this.area}.${button}`;
    if (speed <= 2) areas.showAtOnce(area, `${down}${stuck}`, apply);
    else areas.showSlowly(area, `${down}${stuck}`, real_ms, apply);
  }

  hiddenKey() {
    if (!this.state.hidden) return '';
    const { mode, setup, channel, address, power_up: powerUp, storing, blips_awake: blips, deaf_for: deaf } =
      this.state.hidden;
    return JSON.stringify([mode, setup?.ends_s, channel, address, powerUp, storing, blips, deaf, this.state.switches]);
  }

  tellHidden() {
    const { hidden } = this.state;
    this.shownSetup = hidden?.setup ?? null;
    setText(this.mode, hidden ? modeName(hidden.mode) : '');
    setAttribute(this.node, 'data-mode', hidden?.mode ?? null);
    setText(this.facts, hidden ? this.factsText(hidden) : '');
  }

  // What a state has besides its mode that nobody sees, in a few words.
  asides(hidden) {
    return [hidden.blips_awake ? '' : tr('blips asleep'), hidden.deaf_for > 0 ? plural('deaf for {n} telegram', 'deaf for {n} telegrams', hidden.deaf_for) : '',
      this.state.stuck.length > 0 ? tr('stuck: {buttons}', { buttons: this.state.stuck.join(', ') }) : ''].filter(Boolean);
  }
}
