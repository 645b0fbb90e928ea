// All that one can do to a device besides pressing it.
import { element } from './element.js';
import { openDialog } from './dialog.js';
import { familyOf } from './families.js';
import { switchForm } from './switches.js';
import { plural, tr } from './words.js';

export function openDevice(desk, name) {
  const { hello, state } = desk.bench;
  const plate = hello.plates.find((spec) => spec.name === name);
  const spec = plate ?? hello.modules.find((each) => each.name === name);
  const device = state.devices[name];
  const act = (words, message, id) => element('button', { type: 'button', id, onclick: () => {
    dialog.close();
    desk.act(typeof message === 'function' ? message() : message);
  } }, words);
  const family = familyOf(hello, name);
  const buttons = plate ? family.plate.buttons.map((button) => button.name) : [family.module.button].filter(Boolean);
  const dialog = openDialog(`${name} ${spec.label ?? ''}`, [
    plate && switchesPart(family.plate.switches, device.switches, (values) =>
      act(tr('set the switches'), () => ({ do: 'switches', device: name, ...values }), 'set-switches')),
    buttons.length > 0 && holdPart(buttons, desk, name, () => dialog.close()),
    element('fieldset', {}, element('legend', {}, tr('On site')), element('div', { class: 'row' },
      act(tr('look at {name}', { name }), { do: 'look', device: name }, 'look'),
      act(device.powered ? tr('cut its power') : tr('restore its power'), { do: 'power', device: name, on: !device.powered },
        'power'),
      act(tr('cut all power'), { do: 'power', on: false }), act(tr('restore all power'), { do: 'power', on: true })),
    element('p', { class: 'caution' }, hello.caution)),
    element('fieldset', {}, element('legend', {}, tr('Make it faulty')), element('div', { class: 'row' },
      act(tr('misses the next telegram'), { do: 'deaf', device: name, telegrams: 1 }, 'deaf'),
      buttons.map((button) => {
        const stuck = device.stuck.includes(button);
        return act(stuck ? tr('free {button}', { button }) : tr('{button} sticks', { button }), { do: 'stuck', device: name, button, stuck: !stuck });
      }))),
  ]);
}

// One number from each bank; nothing is sent before the button is pressed.
function switchesPart(banks, now, button) {
  const values = { ...now };
  return element('section', {}, switchForm(tr('Site'), banks.site, now.site, (site) => { values.site = site; }),
    switchForm(tr('Zone'), banks.zone, now.zone, (zone) => { values.zone = zone; }),
    element('div', { class: 'row' }, button(values)));
}

// For whoever cannot hold a button that long, or wants an exact time.
function holdPart(buttons, desk, name, close) {
  const chosen = buttons.map((button) => element('label', { class: 'tick' },
    element('input', { type: 'checkbox', value: button }), button));
  const seconds = element('input', { type: 'number', min: 0.1, max: 600, step: 0.1, value: 5.2, id: 'hold-seconds' });
  return element('fieldset', {}, element('legend', {}, tr('Hold for a stated time')),
    element('div', { class: 'row' }, chosen, element('label', {}, seconds, ' ', tr('seconds')),
      element('button', { type: 'button', id: 'hold', onclick: () => {
        const picked = chosen.map((label) => label.firstChild).filter((box) => box.checked).map((box) => box.value);
        if (buttons.length === 1) picked.splice(0, 1, buttons[0]);
        if (picked.length === 0) return desk.complain(tr('Tick the buttons to hold.'));
        close();
        return desk.act({ do: 'press_for', device: name, buttons: picked, for_s: Number(seconds.value) });
      } }, tr('hold'))));
}
