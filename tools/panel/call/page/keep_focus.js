// Makes the content of a part of the page anew, and leaves the focus where it was: on what has the same `data-key`, else
// on the first thing there that can be pressed.
export function renew(part, children) {
  const at = document.activeElement;
  const inside = at !== part && part.contains(at);
  const key = inside ? at.dataset.key : null;
  part.replaceChildren(...children.filter((child) => child));
  if (!inside) return;
  const same = key ? [...part.querySelectorAll('[data-key]')].find((node) => node.dataset.key === key && !node.disabled) : null;
  (same ?? part.querySelector('button:not(:disabled)') ?? document.querySelector('#line')).focus();
}

// A list of which Tab finds one thing only, and arrows the others.
export function roving(list, selector) {
  const all = () => [...list.querySelectorAll(selector)];
  const current = () => all().find((node) => node.tabIndex === 0);
  const choose = (node) => all().forEach((each) => { each.tabIndex = each === node ? 0 : -1; });
  if (!list.dataset.roving) {
    list.dataset.roving = 'yes';
    list.addEventListener('keydown', (event) => {
      const step = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
      const nodes = all();
      const at = nodes.indexOf(document.activeElement);
      if (!step || at < 0) return;
      event.preventDefault();
      const next = nodes[Math.min(Math.max(at + step, 0), nodes.length - 1)];
      choose(next);
      next.focus();
    });
    list.addEventListener('focusin', (event) => { if (event.target.matches(selector)) choose(event.target); });
  }
  if (!current()) choose(all().find((node) => node === document.activeElement) ?? all().at(-1));
}
