#include "tools/picture/html.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/algorithm/string/replace.hpp>

#include "model/words/words.h"
#include "tools/picture/palette.h"
#include "tools/picture/svg.h"

namespace drybus::tools::picture {

using model::msg;
using model::tr;
using model::tr_as;

namespace {

constexpr std::string_view page_style = R"(
html,body{margin:0;height:100%;background:#fff;color:#1a1a1a;font:16px 'DejaVu Sans',Verdana,Arial,sans-serif}
body{display:flex;flex-direction:column}
#controls{display:flex;flex-wrap:wrap;gap:8px 14px;align-items:center;padding:4px 20px;border-bottom:1px solid #8a8a8a}
#controls button,#controls select{font:inherit;min-width:2.4em;padding:3px 10px;border:1.5px solid #1a1a1a;border-radius:4px;background:#fff;color:#1a1a1a;cursor:pointer}
#controls label{cursor:pointer;padding:3px 0}
#controls input{width:1.1em;height:1.1em;vertical-align:-0.15em}
#controls select{max-width:24em}
.unseen{position:absolute;width:1px;height:1px;margin:0;overflow:hidden;clip-path:inset(50%)}
#view{flex:1;overflow:auto;min-height:0;cursor:grab}
#view.dragged{cursor:grabbing;user-select:none}
.chapter{margin:0 auto;width:max-content}
.chapter+.chapter{margin-top:12px;border-top:6px double #8a8a8a}
#view svg{display:block;height:auto}
#textures{position:absolute;width:0;height:0}
button:focus-visible,input:focus-visible,#view:focus-visible{outline:3px solid #0072b2;outline-offset:-3px}
.mark{cursor:help;outline:none}
.target{fill:none;stroke:transparent;stroke-width:9;pointer-events:stroke}
.ring{fill:none;stroke:#1a1a1a;stroke-width:2.5;pointer-events:none}
.ring-light{fill:none;stroke:#fff;stroke-width:6;pointer-events:none}
.hide-hidden .revealed{display:none}
#view:not(.hide-hidden) .covered{display:none}
#details{position:fixed;right:20px;bottom:20px;width:min(26rem,calc(100vw - 64px));max-height:45vh;overflow:auto;padding:10px 14px;border:2px solid #1a1a1a;border-radius:6px;background:#fff;box-shadow:0 2px 10px #0004}
#details.left{right:auto;left:20px}
#details[hidden]{display:none}
#details h2{margin:0 0 4px;font-size:18px}
#details p,#details ol{margin:4px 0}
#details ol{padding-left:1.4em}
@media (prefers-reduced-motion:no-preference){#view.gliding{scroll-behavior:smooth}}
@media print{
html,body{height:auto;display:block}
header,#details,.ring,.ring-light{display:none!important}
#view{overflow:visible}
.chapter{margin:0;width:auto;border:0!important;break-inside:avoid;break-after:page}
.chapter:last-of-type{break-after:auto}
#view svg{width:100%!important;height:auto!important}
*{-webkit-print-color-adjust:exact;print-color-adjust:exact}
}
)";

constexpr std::string_view page_script = R"SCRIPT(
'use strict';
(() => {
  const view = document.getElementById('view');
  const chapters = [...document.querySelectorAll('.chapter')];
  const svgs = chapters.map(chapter => chapter.querySelector('svg'));
  const details = document.getElementById('details');
  const cover = document.getElementById('cover');
  const chooser = document.getElementById('chooser');
  const marks = svgs.flatMap(svg => [...svg.querySelectorAll('.mark')].sort((a, b) => a.dataset.at - b.dataset.at));
  let zoom = 1;
  let current = null;
  let drag = null;

  // At a zoom of 1 a chapter is as large as all of it can be seen.
  function whole(svg) {
    const box = svg.viewBox.baseVal;
    return Math.min(Math.max(view.clientWidth, 280), Math.max(view.clientHeight, 160) * box.width / box.height);
  }
  const setWidth = () => { for (const svg of svgs) svg.style.width = whole(svg) * zoom + 'px'; };
  const limited = value => Math.min(16, Math.max(0.2, value));

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

  // The chapter of which most is seen.
  function chapter() {
    const middle = view.scrollTop + view.clientHeight / 2 + view.offsetTop;
    const below = chapters.findIndex(each => each.offsetTop + each.offsetHeight > middle);
    return below < 0 ? chapters.length - 1 : below;
  }

  function goTo(index) {
    const wanted = Math.min(chapters.length - 1, Math.max(0, index));
    view.classList.remove('gliding');
    view.scrollTo(0, chapters[wanted].offsetTop - view.offsetTop);
    if (chooser) chooser.value = String(wanted);
  }

  function fit(asWide) {
    const here = chapter();
    zoom = asWide ? limited(view.clientWidth / whole(svgs[here])) : 1;
    setWidth();
    goTo(here);
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
    document.querySelectorAll('.ring,.ring-light').forEach(old => old.remove());
    if (!mark) return;
    const svg = mark.closest('svg');
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

  function help() {
    const lines = ['Point at anything to ask about it.', 'Arrows move, + and \u2212 zoom, 0 shows all of a chapter, W makes it as ' +
      'wide as the window, Home goes to the beginning.', 'Page Up and Page Down go from one thing to the next.'];
    if (cover) lines.push('H covers what nobody on site can see.');
    if (chooser) lines.push('[ and ] go from chapter to chapter.');
    details.replaceChildren(element('h2', 'Keys'), ...lines.map(line => element('p', line)));
    details.hidden = false;
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
    view.classList.toggle('hide-hidden', covered);
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
    '0': () => fit(false),
    w: () => fit(true),
    '[': () => goTo(chapter() - 1),
    ']': () => goTo(chapter() + 1),
    Home: home,
    PageDown: () => step(1),
    PageUp: () => step(-1),
    h: () => cover && setCovered(!cover.checked),
    '?': help,
    Escape: () => tell(null),
  };

  document.addEventListener('keydown', event => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target === chooser || !Object.hasOwn(keys, event.key)) return;
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
  document.getElementById('help').addEventListener('click', help);
  document.getElementById('zoom-wide').addEventListener('click', keys.w);
  if (chooser) {
    document.getElementById('chapter-before').addEventListener('click', keys['[']);
    document.getElementById('chapter-after').addEventListener('click', keys[']']);
    chooser.addEventListener('change', () => goTo(Number(chooser.value)));
    view.addEventListener('scroll', () => { chooser.value = String(chapter()); });
  }
  if (cover) cover.addEventListener('change', () => setCovered(cover.checked));
  window.addEventListener('resize', setWidth);
  setWidth();
  setCovered(Boolean(cover) && location.hash === '#hidden');
  document.body.classList.add('ready');
})();
)SCRIPT";

bool has_hidden(const Picture& picture) {
  return std::any_of(picture.marks.begin(), picture.marks.end(),
                     [](const Mark& mark) { return mark.shown == Shown::revealed; });
}

/// What the script tells, as it stands there between quotation marks; no translation has one of these.
constexpr std::array script_texts = {
    msg("Because:"),
    msg("Point at anything to ask about it."),
    msg("Arrows move, + and \\u2212 zoom, 0 shows all of a chapter, W makes it as "),
    msg("wide as the window, Home goes to the beginning."),
    msg("Page Up and Page Down go from one thing to the next."),
    msg("H covers what nobody on site can see."),
    msg("[ and ] go from chapter to chapter."),
    msg("Keys")};

std::string spoken_script() {
  std::string script{page_script};
  for (const std::string_view text : script_texts)
    boost::replace_all(script, fmt::format("'{}'", text), fmt::format("'{}'", model::in_words_spoken(text)));
  return script;
}

std::string chapter_name(const Picture& picture, std::size_t number) {
  return fmt::format("{}: {}", number, picture.chapter);
}

/// Nothing where there is only one.
std::string chapter_controls(const std::vector<Picture>& chapters) {
  if (chapters.size() < 2) return "";
  std::string options;
  for (std::size_t i = 0; i < chapters.size(); ++i)
    options += fmt::format("<option value=\"{}\">{}</option>", i, escaped(chapter_name(chapters[i], i + 1)));
  return fmt::format(
      "<button type=\"button\" id=\"chapter-before\" aria-label=\"{}\">[</button>"
      "<select id=\"chooser\" aria-label=\"{}\">{}</select>"
      "<button type=\"button\" id=\"chapter-after\" aria-label=\"{}\">]</button>",
      escaped(tr("Chapter before")), escaped(tr("Chapter")), options, escaped(tr("Next chapter")));
}

std::string chapter_section(const Picture& picture, std::size_t number, std::size_t of) {
  return fmt::format(
      "<section class=\"chapter\" aria-label=\"{}\">\n{}</section>\n",
      escaped(of == 1 ? tr("The whole picture") : tr("Chapter {}", chapter_name(picture, number))),
      svg_text(picture, {.inside_page = true, .number = number}));
}

/// What the paper leaves inside its margins: a chapter that is higher than its page's shape is made narrower.
std::string paper_rules(bool letter) {
  constexpr double margin_mm = 10;
  const double height_mm = (letter ? 215.9 : 210) - 2 * margin_mm;
  return fmt::format(
      "@page{{size:{} landscape;margin:{}mm}}\n@media print{{#view svg{{max-height:{:.0f}mm}}}}\n",
      letter ? "letter" : "A4", margin_mm, height_mm - 2);
}

}  // namespace

std::string html_text(const std::vector<Picture>& chapters, bool letter) {
  const bool hidden = std::any_of(chapters.begin(), chapters.end(), has_hidden);
  const std::string cover =
      hidden
          ? fmt::format("<label><input type=\"checkbox\" id=\"cover\"> {}</label>",
                        escaped(tr("cover what is hidden on site (H)")))
          : fmt::format("<span>{}</span>", escaped(tr("What nobody on site can see is not in this file.")));
  Picture all;  // the labels of every chapter, for their rules
  std::string sections;
  for (std::size_t i = 0; i < chapters.size(); ++i) {
    all.labels.insert(all.labels.end(), chapters[i].labels.begin(), chapters[i].labels.end());
    sections += chapter_section(chapters[i], i + 1, chapters.size());
  }
  // The policy makes sure of it: nothing is fetched from anywhere.
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
      "script-src 'unsafe-inline'\">\n"
      "<title>{}</title>\n<style>{}{}{}{}</style>\n</head>\n<body>\n"
      "<header><h1 class=\"unseen\">{}</h1><div id=\"controls\" role=\"toolbar\" aria-label=\"{}\">{}"
      "<button type=\"button\" id=\"zoom-in\" aria-label=\"{}\">+</button>"
      "<button type=\"button\" id=\"zoom-out\" aria-label=\"{}\">\u2212</button>"
      "<button type=\"button\" id=\"zoom-fit\">{}</button>"
      "<button type=\"button\" id=\"zoom-wide\">{}</button>{}"
      "<button type=\"button\" id=\"help\" aria-label=\"{}\">?</button></div></header>\n"
      "<svg id=\"textures\" aria-hidden=\"true\"><defs>{}</defs></svg>\n"
      "<main id=\"view\" tabindex=\"0\" aria-label=\"{}\">\n{}</main>\n"
      "<aside id=\"details\" aria-live=\"polite\" hidden></aside>\n<script>{}</script>\n</body>\n</html>\n",
      tr_as("language code", "en"), escaped(chapters.front().title), page_style, paper_rules(letter),
      style_sheet(), label_sheet(all), escaped(chapters.front().title), escaped(tr("Picture")),
      chapter_controls(chapters), escaped(tr("Zoom in")), escaped(tr("Zoom out")), escaped(tr("whole (0)")),
      escaped(tr("wide (W)")), cover, escaped(tr("Keys")), textures(), escaped(tr("Timeline")), sections,
      spoken_script());
}

}  // namespace drybus::tools::picture
