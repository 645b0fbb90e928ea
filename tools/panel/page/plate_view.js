// A wall plate: its buttons, its switches, its indicator.
import { element, setText, unseenWords } from './element.js';
import { DeviceView } from './device_view.js';
import { switchPicture } from './switches.js';
import { tr } from './words.js';

export class PlateView extends DeviceView {
  constructor(spec, options) {
    super(spec, 'plate', options);
    const { plate } = this.family;
    this.switches = element('span', { class: 'setting' });
    this.bank = element('span', { class: 'banks', 'aria-hidden': 'true' });
    this.node.append(
      element('div', { class: 'face', role: 'group', 'aria-label': tr('{name} buttons', { name: spec.name }),
        'data-count': plate.buttons.length }, plate.buttons.map((button) => this.#key(button)), this.#gestureKey(plate)),
      element('p', { class: 'switches' }, this.switches, this.bank), this.hidden);
  }

  #key({ name, press, hold }) {
    const hint = press && hold ? `${press} · ${hold}` : press || (hold && tr('hold: {what}', { what: hold }));
    return this.makeKey(name, hint);
  }

  // A mouse has one finger: where two buttons are held together, one key of the page holds both.
  #gestureKey({ setup_gesture: { buttons } }) {
    if (buttons.length < 2 || !this.desk) return null;
    const node = element('button', { type: 'button', class: 'key together' }, unseenWords(`${this.name} `),
      element('span', { class: 'cap' }, buttons.join(' + ')), ' ', element('small', {}, tr('together')));
    this.desk.hands.attach(node, this.name, buttons);
    return node;
  }

  draw(frame) {
    super.draw(frame);
    const { site, zone } = this.state.switches;
    frame.areas.show(`switches:${this.area}`, `${site}/${zone}`, frame.real_ms, () => {
      setText(this.switches, tr('switches: site {site}, zone {zone}', { site, zone }));
      const kinds = this.family.plate.switches;
      this.bank.replaceChildren(switchPicture(kinds.site, site), switchPicture(kinds.zone, zone));
    });
  }

  tellHidden() {
    super.tellHidden();
    const inSetup = this.state.hidden?.mode === 'setup';
    for (const { name, setup } of this.family.plate.buttons) {
      const key = this.keys.get(name);
      // What a button does in setup gives its mode away, which is not told while the curtain is drawn.
      key.node.dataset.setup = inSetup ? setup : '';
    }
  }

  factsText(hidden) {
    return [hidden.mode === 'setup' ? tr('channel {channel}', { channel: hidden.channel }) : '', ...this.asides(hidden)].filter(Boolean).join(', ');
  }
}
