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
