// A branch: another name for it, or away with it.
import { element } from './element.js';
import { openDialog } from './dialog.js';
import { branchName } from './names.js';
import { tr } from './words.js';

export function openBranch(desk, id) {
  const { branches } = desk.bench.state;
  const { name } = branches.find((each) => each.id === id);
  const field = element('input', { type: 'text', value: name, maxlength: 60 });
  const act = (message) => () => {
    dialog.close();
    desk.do(message());
  };
  const dialog = openDialog(tr('Branch {name}', { name: branchName(name) }), [
    element('label', {}, tr('Name'), ' ', field),
    element('div', { class: 'row' },
      element('button', { type: 'button', onclick: act(() => ({ do: 'rename', branch: id, name: field.value.trim() || name })) },
        tr('give it this name')),
      element('button', { type: 'button', disabled: branches.length < 2, onclick: act(() => ({ do: 'remove', branch: id })) },
        tr('remove it'))),
  ]);
}
