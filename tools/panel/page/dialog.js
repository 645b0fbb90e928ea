// One dialog at a time; Escape closes it and the focus goes back to where it was.
import { element } from './element.js';
import { tr } from './words.js';

export function openDialog(title, content, { closed = () => {} } = {}) {
  document.querySelector('dialog')?.close();
  const dialog = element('dialog', { 'aria-labelledby': 'dialog-title' },
    element('header', {}, element('h2', { id: 'dialog-title' }, title),
      element('button', { type: 'button', class: 'close', 'aria-label': tr('Close'), onclick: () => dialog.close() }, '✕')),
    element('div', { class: 'content' }, content));
  dialog.addEventListener('close', () => {
    dialog.remove();
    closed();
  });
  dialog.addEventListener('click', (event) => {
    if (event.target === dialog) dialog.close();
  });
  document.body.append(dialog);
  dialog.showModal();
  return dialog;
}
