// Makes elements: element('p', {class: 'quiet'}, 'words', child). Keys that begin with `on` are listeners.
const svgSpace = 'http://www.w3.org/2000/svg';

function dress(made, attributes, children) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith('on')) made.addEventListener(key.slice(2), value);
    else made.setAttribute(key, value === true ? '' : value);
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

export const element = (name, attributes = {}, ...children) =>
  dress(document.createElement(name), attributes, children);

export const drawn = (name, attributes = {}, ...children) =>
  dress(document.createElementNS(svgSpace, name), attributes, children);

// Words for a voice only, where the eye sees them from what is around.
export const unseenWords = (words) => element('span', { class: 'visually-hidden' }, words);

// Touches the page only when something is different, so that screen readers and the painter are left in peace.
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

export function setAttribute(node, name, value) {
  if (value === null) {
    if (node.hasAttribute(name)) node.removeAttribute(name);
  } else if (node.getAttribute(name) !== String(value)) {
    node.setAttribute(name, value);
  }
}

export function setClass(node, name, on) {
  if (node.classList.contains(name) !== on) node.classList.toggle(name, on);
}

let touched = null;  // what a finger is down on
const waiting = new Map();  // what is to be made anew when it has come up: node -> how
const after_up_ms = 100;  // a tap's click comes after its finger

addEventListener('pointerdown', ({ target }) => { touched = target; }, true);
for (const name of ['pointerup', 'pointercancel']) addEventListener(name, () => setTimeout(letGo, after_up_ms), true);

function letGo() {
  touched = null;
  for (const [node, make] of [...waiting]) renew(node, make);
}

// Puts new children in the place of the old ones; `make` gives them. While a finger is down on one of the old ones they stay:
// it would come up on nothing, and what it was meant to do would be lost. Who has the focus by `data-focus` has it again.
export function renew(node, make) {
  waiting.delete(node);
  if (touched && node.contains(touched)) return waiting.set(node, make);
  const focus = node.contains(document.activeElement) ? document.activeElement.dataset.focus : undefined;
  node.replaceChildren(...make());
  if (focus) node.querySelector(`[data-focus="${CSS.escape(focus)}"]`)?.focus();
  return undefined;
}
