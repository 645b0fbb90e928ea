// A dimmer module with its load: local button, indicator, lamp.
import { element } from './element.js';
import { DeviceView } from './device_view.js';
import { Load } from './load.js';

export class ModuleView extends DeviceView {
  constructor(spec, options) {
    super(spec, 'module', options);
    this.load = new Load(this.area, spec.name);
    this.node.prepend(this.load.node);
    const gesture = options.hello.family.module.setup_gesture;
    this.node.append(
      element('div', { class: 'face', role: 'group', 'aria-label': `${spec.name} local button` },
        this.makeKey(options.hello.family.module.button, `hold ${gesture.for_s} s: setup`)),
      this.hidden);
  }

  update(state) {
    super.update(state);
    this.load.update(state);
  }

  draw(frame) {
    super.draw(frame);
    this.load.draw(frame);
  }

  factsText(hidden) {
    const address = hidden.storing ? 'storing …' : hidden.address ?? 'no address';
    return [address, `power-up ${hidden.power_up}`, ...this.asides(hidden)].join(', ');
  }
}
