// A dimmer module with its load: local button, indicator, lamp.
import { element, setAttribute, unseenWords } from './element.js';
import { DeviceView } from './device_view.js';
import { Load } from './load.js';
import { powerUpName } from './names.js';
import { tr } from './words.js';

export class ModuleView extends DeviceView {
  constructor(spec, options) {
    super(spec, 'module', options);
    this.load = new Load(this.area, spec.name);
    this.node.prepend(this.load.node);
    this.node.append(this.#face(), this.hidden);
  }

  // Where there is no button, its own supply is switched.
  #face() {
    const { button, setup_gesture: gesture } = this.family.module;
    const face = (words, ...inside) => element('div', { class: 'face', role: 'group', 'aria-label': words }, inside);
    if (button !== null) return face(tr('{name} {button} button', { name: this.name, button }),
      this.makeKey(button, tr('hold {seconds} s: setup', { seconds: gesture.for_s })));
    this.supply = element('button', { type: 'button', class: 'key supply', disabled: !this.desk,
      onclick: () => this.desk.act({ do: 'power', device: this.name }) },
    unseenWords(`${this.name} `), element('span', { class: 'cap' }, tr('supply')), ' ', element('small', {}, gesture.text));
    return face(tr('{name} supply', { name: this.name }), this.supply);
  }

  update(state) {
    super.update(state);
    this.load.update(state);
    if (this.supply) setAttribute(this.supply, 'aria-pressed', state.powered ? 'true' : 'false');
  }

  draw(frame) {
    super.draw(frame);
    this.load.draw(frame);
  }

  factsText(hidden) {
    const address = hidden.storing ? `${tr('storing')} …` : hidden.address ?? tr('no address');
    return [address, tr('power-up {mode}', { mode: powerUpName(hidden.power_up) }), ...this.asides(hidden)].join(', ');
  }
}
