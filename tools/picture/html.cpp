#include "tools/picture/html.h"

#include <fmt/format.h>

#include <algorithm>

#include "tools/picture/svg.h"

namespace drybus::tools::picture {

namespace {

constexpr std::string_view page_style = R"(
html,body{margin:0;height:100%;background:#fff;color:#1a1a1a;font:16px 'DejaVu Sans',Verdana,Arial,sans-serif}
body{display:flex;flex-direction:column}
#controls{display:flex;flex-wrap:wrap;gap:8px 14px;align-items:center;padding:6px 20px;border-bottom:1px solid #8a8a8a}
#controls button{font:inherit;min-width:2.4em;padding:3px 10px;border:1.5px solid #1a1a1a;border-radius:4px;background:#fff;color:#1a1a1a;cursor:pointer}
#controls label{cursor:pointer;padding:3px 0}
#controls input{width:1.1em;height:1.1em;vertical-align:-0.15em}
#controls .keys{color:#4d4d4d;font-size:14px}
#view{flex:1;overflow:auto;min-height:0;cursor:grab}
#view.dragged{cursor:grabbing;user-select:none}
#view svg{display:block;height:auto}
button:focus-visible,input:focus-visible,#view:focus-visible{outline:3px solid #0072b2;outline-offset:-3px}
.mark{cursor:help;outline:none}
.target{fill:none;stroke:transparent;stroke-width:9;pointer-events:stroke}
.ring{fill:none;stroke:#1a1a1a;stroke-width:2.5;pointer-events:none}
.ring-light{fill:none;stroke:#fff;stroke-width:6;pointer-events:none}
.hide-hidden .revealed{display:none}
svg:not(.hide-hidden) .covered{display:none}
#details{position:fixed;right:20px;bottom:20px;width:min(26rem,calc(100vw - 64px));max-height:45vh;overflow:auto;padding:10px 14px;border:2px solid #1a1a1a;border-radius:6px;background:#fff;box-shadow:0 2px 10px #0004}
#details.left{right:auto;left:20px}
#details[hidden]{display:none}
#details h2{margin:0 0 4px;font-size:18px}
#details p,#details ol{margin:4px 0}
#details ol{padding-left:1.4em}
@media (prefers-reduced-motion:no-preference){#view.gliding{scroll-behavior:smooth}}
@media print{
@page{size:A4 landscape;margin:10mm}
html,body{height:auto;display:block}
#controls,#details,.ring,.ring-light{display:none!important}
#view{overflow:visible}
#view svg{width:100%!important}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}
}
)";

constexpr std::string_view page_script = R"SCRIPT(
'use strict';
(() => {
  const view = document.getElementById('view');
  const svg = document.getElementById('picture');
  const details = document.getElementById('details');
  const cover = document.getElementById('cover');
  const natural = svg.viewBox.baseVal.width;
  const marks = [...svg.querySelectorAll('.mark')].sort((a, b) => a.dataset.at - b.dataset.at);
  let zoom = 1;
  let current = null;
  let drag = null;

  const shownWidth = () => Math.max(view.clientWidth, 320) * zoom;
  const setWidth = () => { svg.style.width = shownWidth() + 'px'; };
  const limited = value => Math.min(12, Math.max(1, value));

  // Zooms so that what is at (x, y) of the view stays there.
  function zoomTo(value, x = view.clientWidth / 2, y = view.clientHeight / 2) {
    const before = zoom;
    zoom = limited(value);
    const left = (view.scrollLeft + x) * zoom / before - x;
    const top = (view.scrollTop + y) * zoom / before - y;
    view.classList.remove('gliding');
    setWidth();
    view.scrollTo(left, top);
  }

  function pan(dx, dy) {
    view.classList.add('gliding');
    view.scrollBy(dx, dy);
  }

  function home() {
    view.classList.add('gliding');
    view.scrollTo(0, 0);
  }

  function element(name, text) {
    const made = document.createElement(name);
    made.textContent = text;
    return made;
  }

  function ring(mark) {
    svg.querySelectorAll('.ring,.ring-light').forEach(old => old.remove());
    if (!mark) return;
    const box = mark.getBBox();
    for (const name of ['ring-light', 'ring']) {
      const rect = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
      rect.setAttribute('class', name);
      rect.setAttribute('x', box.x - 4);
      rect.setAttribute('y', box.y - 4);
      rect.setAttribute('width', box.width + 8);
      rect.setAttribute('height', box.height + 8);
      rect.setAttribute('rx', 3);
      svg.append(rect);
    }
  }

  // Causes are hidden truth: they are told only while that is shown.
  function tell(mark) {
    current = mark;
    details.hidden = !mark;
    ring(mark);
    if (!mark) return;
    const parts = [element('h2', mark.dataset.what), element('p', mark.dataset.when)];
    if (mark.dataset.because && !(cover && cover.checked)) {
      parts.push(element('p', 'Because:'));
      const list = document.createElement('ol');
      for (const cause of mark.dataset.because.split('\n')) list.append(element('li', cause));
      parts.push(list);
    }
    details.replaceChildren(...parts);
    const box = mark.getBoundingClientRect();
    details.classList.toggle('left', box.left + Math.min(box.width, 200) / 2 > window.innerWidth / 2);
  }

  function visible(mark) { return mark.getClientRects().length > 0; }

  function focusMark(mark) {
    if (!mark) return;
    marks.forEach(other => other.setAttribute('tabindex', other === mark ? '0' : '-1'));
    mark.focus({preventScroll: true});
    mark.scrollIntoView({block: 'nearest', inline: 'center'});
  }

  function step(by) {
    const seen = marks.filter(visible);
    if (seen.length === 0) return;
    const at = seen.indexOf(document.activeElement);
    focusMark(seen[at < 0 ? (by > 0 ? 0 : seen.length - 1) : Math.min(seen.length - 1, Math.max(0, at + by))]);
  }

  function setCovered(covered) {
    svg.classList.toggle('hide-hidden', covered);
    if (cover) cover.checked = covered;
    tell(current && visible(current) ? current : null);
  }

  const keys = {
    ArrowLeft: () => pan(-80, 0),
    ArrowRight: () => pan(80, 0),
    ArrowUp: () => pan(0, -80),
    ArrowDown: () => pan(0, 80),
    '+': () => zoomTo(zoom * 1.25),
    '=': () => zoomTo(zoom * 1.25),
    '-': () => zoomTo(zoom / 1.25),
    '0': () => zoomTo(1),
    Home: home,
    PageDown: () => step(1),
    PageUp: () => step(-1),
    h: () => cover && setCovered(!cover.checked),
    Escape: () => tell(null),
  };

  document.addEventListener('keydown', event => {
    if (event.ctrlKey || event.metaKey || event.altKey || !Object.hasOwn(keys, event.key)) return;
    event.preventDefault();
    keys[event.key]();
  });

  for (const [index, mark] of marks.entries()) {
    mark.setAttribute('tabindex', index === 0 ? '0' : '-1');
    mark.setAttribute('role', 'img');
    mark.setAttribute('aria-label', mark.dataset.what + ', ' + mark.dataset.when);
    mark.addEventListener('focus', () => tell(mark));
  }
  view.addEventListener('pointerover', event => {
    if (drag && drag.moved) return;
    const mark = event.target.closest('.mark');
    if (mark) tell(mark);
  });

  view.addEventListener('pointerdown', event => {
    if (event.button !== 0 || event.pointerType === 'touch') return;
    drag = {x: event.clientX, y: event.clientY, left: view.scrollLeft, top: view.scrollTop, moved: false};
    view.classList.remove('gliding');
  });
  window.addEventListener('pointermove', event => {
    if (!drag) return;
    const dx = event.clientX - drag.x;
    const dy = event.clientY - drag.y;
    if (!drag.moved && Math.hypot(dx, dy) < 4) return;
    drag.moved = true;
    view.classList.add('dragged');
    view.scrollTo(drag.left - dx, drag.top - dy);
  });
  window.addEventListener('pointerup', () => {
    drag = null;
    view.classList.remove('dragged');
  });
  view.addEventListener('wheel', event => {
    if (!event.ctrlKey && !event.metaKey) return;  // otherwise it scrolls
    event.preventDefault();
    const box = view.getBoundingClientRect();
    zoomTo(zoom * Math.exp(-event.deltaY / 400), event.clientX - box.left, event.clientY - box.top);
  }, {passive: false});
  view.addEventListener('dblclick', event => {
    const box = view.getBoundingClientRect();
    zoomTo(zoom * 1.6, event.clientX - box.left, event.clientY - box.top);
  });

  document.getElementById('zoom-in').addEventListener('click', keys['+']);
  document.getElementById('zoom-out').addEventListener('click', keys['-']);
  document.getElementById('zoom-fit').addEventListener('click', keys['0']);
  if (cover) cover.addEventListener('change', () => setCovered(cover.checked));
  window.addEventListener('resize', setWidth);
  setWidth();
  setCovered(Boolean(cover) && location.hash === '#hidden');
})();
)SCRIPT";

bool has_hidden(const Picture& picture) {
  return std::any_of(picture.marks.begin(), picture.marks.end(),
                     [](const Mark& mark) { return mark.shown == Shown::revealed; });
}

}  // namespace

std::string html_text(const Picture& picture) {
  const std::string cover =
      has_hidden(picture)
          ? "<label><input type=\"checkbox\" id=\"cover\"> cover what nobody on site can see (H)</label>"
          : "<span>What nobody on site can see is not in this file.</span>";
  // The policy makes sure of it: nothing is fetched from anywhere.
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
      "script-src 'unsafe-inline'\">\n"
      "<title>{}</title>\n<style>{}</style>\n</head>\n<body>\n"
      "<div id=\"controls\" role=\"toolbar\" aria-label=\"Picture\">"
      "<button type=\"button\" id=\"zoom-in\" aria-label=\"Zoom in\">+</button>"
      "<button type=\"button\" id=\"zoom-out\" aria-label=\"Zoom out\">\u2212</button>"
      "<button type=\"button\" id=\"zoom-fit\">fit (0)</button>{}"
      "<span class=\"keys\">Point at anything to ask about it. Arrows move, + and \u2212 zoom, Home goes to "
      "the beginning, "
      "Page Up and Page Down go from one thing to the next.</span></div>\n"
      "<main id=\"view\" tabindex=\"0\" aria-label=\"Timeline\">\n{}</main>\n"
      "<aside id=\"details\" aria-live=\"polite\" hidden></aside>\n<script>{}</script>\n</body>\n</html>\n",
      escaped(picture.title), page_style, cover, svg_text(picture, {.inside_page = true}), page_script);
}

}  // namespace drybus::tools::picture
