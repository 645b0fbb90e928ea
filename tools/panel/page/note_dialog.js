// A remark at this moment: a teaching point of the scenario that is saved.
import { element } from './element.js';
import { openDialog } from './dialog.js';
import { tr } from './words.js';

export function openNote(desk) {
  const text = element('textarea', { rows: 3, maxlength: 400, 'aria-label': tr('The remark') });
  const dialog = openDialog(tr('A remark at this moment'), [
    element('p', {}, tr('The saved scenario stops here when it is demonstrated: a good place for a question.')), text,
    element('div', { class: 'row' }, element('button', { type: 'button', class: 'main', onclick: () => {
      if (text.value.trim() === '') return desk.complain(tr('Write a remark first.'));
      dialog.close();
      return desk.do({ do: 'note', text: text.value.trim() });
    } }, tr('keep the remark'))),
  ]);
  text.focus();
}
