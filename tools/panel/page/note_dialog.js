// A remark at this moment: a teaching point of the scenario that is saved.
import { element } from './element.js';
import { openDialog } from './dialog.js';

export function openNote(desk) {
  const text = element('textarea', { rows: 3, maxlength: 400, 'aria-label': 'The remark' });
  const dialog = openDialog('A remark at this moment', [
    element('p', {}, 'The saved scenario stops here when it is demonstrated: a good place for a question.'), text,
    element('div', { class: 'row' }, element('button', { type: 'button', class: 'main', onclick: () => {
      if (text.value.trim() === '') return desk.complain('Write a remark first.');
      dialog.close();
      return desk.do({ do: 'note', text: text.value.trim() });
    } }, 'keep the remark')),
  ]);
  text.focus();
}
