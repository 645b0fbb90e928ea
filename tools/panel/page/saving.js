// What was done, as a scenario to keep.
import { element } from './element.js';
import { clockText } from './times.js';
import { openDialog } from './dialog.js';
import { tr } from './words.js';

export async function save(desk) {
  const saved = await desk.ask({ do: 'save' });
  if (!saved) return;
  const address = URL.createObjectURL(new Blob([saved.text], { type: 'application/yaml' }));
  const link = element('a', { class: 'button main', id: 'download', href: address, download: saved.name },
    tr('download {name}', { name: saved.name }));
  openDialog(tr('Save as a scenario'), [
    element('p', {}, tr('All that was done on this branch, until {time}. To the same digest it is replayed by', { time: clockText(saved.ended_at_s) }), ' ',
      element('code', {}, `drybus run ${saved.name}`)),
    element('p', {}, element('code', { class: 'digest' }, saved.digest)),
    // It says what was found.
    desk.bench.state.curtain_drawn ? element('p', {}, tr('What stands in it is hidden while the curtain is drawn.')) :
      element('label', {}, tr('The scenario'), element('textarea', { readonly: true, rows: 12, class: 'text' }, saved.text)),
    element('div', { class: 'row' }, link),
  ], { closed: () => URL.revokeObjectURL(address) });
  link.focus();
}
