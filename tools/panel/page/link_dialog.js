// A link of the wiring: sound, open, shorted or noisy.
import { element } from './element.js';
import { openDialog } from './dialog.js';
import { linkName } from './names.js';
import { tr } from './words.js';

export function openLink(desk, name) {
  const { hello, state } = desk.bench;
  const now = state.links[name];
  const dialog = openDialog(tr('Link {name}', { name }), [
    element('p', {}, now === 'hidden' ? tr('How it is is hidden while the curtain is drawn.')
      : tr('It is {state}.', { state: linkName(now) })),
    element('div', { class: 'row' }, ['sound', 'open', 'shorted', 'noisy'].map((wanted) => element('button', {
      type: 'button', id: `link-${wanted}`, disabled: wanted === now,
      onclick: () => {
        dialog.close();
        desk.act({ do: 'link', link: name, state: wanted, ...(wanted === 'noisy' ? { bit_errors: 0.01 } : {}) });
      },
    }, wanted === 'noisy' ? tr('noisy (1 bit in 100)') : linkName(wanted)))),
    element('p', { class: 'caution' }, hello.caution),
  ]);
}
