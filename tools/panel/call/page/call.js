// The page of a call: it shows what the server knows of it, and sends what is written.
import { Announcer } from './announcer.js';
import { AskedView } from './asked_view.js';
import { startColours } from './colours.js';
import { Connection } from './connection.js';
import { openDialog } from './dialog.js';
import { element, setText } from './element.js';
import { ExplainedView, percent } from './explained_view.js';
import { LineView } from './line_view.js';
import { RoomsView } from './rooms_view.js';
import { fitting, sentencesOf } from './sentences.js';
import { ToldView } from './told_view.js';

const connection = new Connection(`ws://${location.host}/socket`);
const announcer = new Announcer(document.querySelector('#announcer'));

// What people type for an answer, as at the terminal.
const aliases = { yes: ['y', 'yes'], no: ['n', 'no'], 'something else': ['e', 'else', 'something else'], cannot: ['c', '?', 'cannot'],
  done: ['d', 'done', 'yes', 'y'], 'not so': ['n', 'not so', 'no'], back: ['b', '<', 'back'] };

let call = null;
let sentences = [];
let writes = true;
let lacking = null; // the answer that still needs to be told what is seen
let pen = null; // the entry before which is written
let told = ''; // what was announced last

// --- sending ---

async function ask(message) {
  try {
    await connection.ask(message);
    line.refuse('');
    return true;
  } catch (error) {
    line.refuse(error.message);
    return false;
  }
}

async function say(words) {
  const message = { do: 'say', line: words };
  if (pen !== null) message.before = pen;
  pen = null;
  // Whoever writes goes on at once; what was refused comes back, unless there is something new already.
  const typed = line.text;
  line.clear();
  const taken = await ask(message);
  if (!taken) line.putBack(typed);
  return taken;
}

function answer(word, more = {}) {
  if (call.lacks[word] !== 'nothing' && Object.keys(more).length === 0) {
    lacking = word;
    show();
    line.clear();
    return line.focus();
  }
  const { revision } = call;
  const typed = line.text;
  line.clear();
  return ask({ do: 'answer', answer: word, revision, ...more }).then((taken) => {
    if (!taken) line.putBack(typed);
    return taken;
  });
}

async function back() {
  if (lacking !== null || pen !== null) return putAway();
  line.clear();
  return ask({ do: 'back' });
}

function putAway() {
  lacking = null;
  pen = null;
  show();
  line.focus();
}

// --- the line ---

function offersFor(text) {
  if (call === null || call.stage === 'intake') return [];
  const typed = text.trim().toLowerCase();
  if (lacking !== null) return sightsFor(typed, text);
  const offers = [];
  for (const word of call.choices ?? []) {
    if (word !== 'quit' && word !== 'back' && !call.working && aliases[word]?.includes(typed)) offers.push({ words: `answer: ${word}`, kind: 'answer', word });
  }
  if (aliases.back.includes(typed)) offers.push({ words: 'back a step', kind: 'answer', word: 'back' });
  // Who answers before anything is asked does not mean the sentence that a single letter would find.
  return offers.length === 0 && isAnAnswer(typed) ? [] : [...offers, ...fitting(text, sentences)];
}

const isAnAnswer = (typed) => Object.values(aliases).some((words) => words.includes(typed));

function sightsFor(typed, text) {
  if (aliases.back.includes(typed)) return [{ words: 'not yet', kind: 'answer', word: 'back' }];
  if (call.lacks[lacking] === 'switches') return [];
  const offered = call.offers.map((words, offer) => ({ words: `${offer + 1} ${words}`, kind: 'seen', offer }));
  const number = Number(typed);
  if (Number.isInteger(number) && number > 0 && number <= offered.length) return [offered[number - 1]];
  return [...offered.filter(({ words }) => words.toLowerCase().includes(typed)),
    ...fitting(text, sentences.filter(({ kind }) => kind === 'seen'))];
}

function take(offer) {
  if (call.stage === 'intake') return say(offer.line === '' ? '.' : offer.line);
  if (offer.word === 'back') return back();
  if (offer.word) return answer(offer.word);
  if (lacking !== null) {
    if (offer.offer !== undefined) return answer(lacking, { offer: offer.offer });
    if (!offer.line) return undefined;
    return answer(lacking, call.lacks[lacking] === 'switches' ? { switches: offer.line } : { saw: offer.line });
  }
  if (isAnAnswer((offer.line ?? '').toLowerCase())) {
    return line.refuse(call.working ? 'It is being worked out what to ask: wait for it.' : 'That answers nothing that is asked now.');
  }
  return offer.line ? say(offer.line) : undefined;
}

const line = new LineView({ offersFor, take, escape: putAway });
const asked = new AskedView({ answer, offer: (offer) => answer(lacking, { offer }), cancel: putAway, say,
  before: (addressed) => ask({ do: 'before', addressed }) });
const explained = new ExplainedView();
const rooms = new RoomsView({ say: (words) => {
  if (lacking !== null && call.lacks[lacking] === 'sight') return answer(lacking, { saw: words });
  return say(words);
} });
const notes = new ToldView({
  mark: (entry, unsure) => ask({ do: 'mark', entry, unsure, revision: call.revision }),
  takeOut: (entry) => ask({ do: 'take_out', entry, revision: call.revision }),
  putBefore: (entry) => {
    pen = entry;
    show();
    line.focus();
  },
});

// --- showing ---

function lineWords() {
  if (call.stage === 'intake') return 'Your answer';
  if (lacking !== null) return call.asks[lacking];
  if (pen !== null) return 'What came before that?';
  return call.answered?.length > 0 ? 'Answer, or what else was seen or done' : 'What do they say?';
}

function show() {
  setText(document.querySelector('#title'), call.title ?? 'A call');
  document.title = `${call.title ?? 'A call'} - drybus`;
  setText(document.querySelector('#saved'), writes ? `kept in ${call.file}` : `kept in ${call.file}; you look on`);
  document.querySelector('#rename').hidden = call.stage === 'intake' || !writes;
  document.querySelector('#back').disabled = !call.can_go_back && lacking === null && pen === null;
  document.body.dataset.stage = call.stage;
  line.ask(lineWords(), call.stage === 'intake' ? 'Enter alone: a full stop' : 'a few letters of each word');
  asked.show(call, lacking);
  notes.show(call, pen);
  rooms.showSeen(call);
  explained.show(call);
}

function announce() {
  if (call.working) return;
  const asks = { check: 'Ask: ', proof: 'Proof: ' }[call.stage];
  const words = asks ? asks + call.question
    : call.stage === 'cure' ? `Dictate: ${call.step.caution ? `Caution. ${call.step.caution} ` : ''}${call.step.text}`
    : call.stage === 'intake' ? call.prompt
    : call.stage === 'proved' ? 'Proved right.' : call.stage === 'no-cure' ? 'No cure can be dictated.' : '';
  if (words === '' || words === told) return;
  told = words;
  const best = call.explanations?.[0];
  announcer.say(best && call.stage === 'check' ? `${percent(best.probability)}: ${explained.inLabels(best.text)} ${words}` : words);
}

connection.addEventListener('message', ({ detail: message }) => {
  if (message.type === 'hello') {
    writes = message.you.writes;
    document.body.classList.toggle('onlooker', !writes);
  } else if (message.type === 'site') {
    sentences = sentencesOf(message.rooms);
    rooms.show(message.rooms);
    explained.names(message.rooms);
    if (call !== null) rooms.showSeen(call);
  } else if (message.type === 'call') {
    if (call !== null && (message.revision !== call.revision || message.stage !== call.stage)) lacking = null;
    if (call !== null && message.told.length !== call.told.length) pen = null;
    call = message;
    show();
    announce();
    document.body.classList.add('ready');
  }
});

connection.addEventListener('line', ({ detail: { up, reason } }) => {
  const lost = document.querySelector('#lost');
  lost.hidden = up;
  setText(lost, up ? '' : `The line to the server is lost${reason ? ` (${reason})` : ''}; what was written is in the file. Trying again.`);
});

// --- what belongs to the page ---

document.querySelector('#back').addEventListener('click', back);
startColours(document.querySelector('#colours'));

document.querySelector('#rename').addEventListener('click', () => {
  const input = element('input', { type: 'text', id: 'new-title', maxlength: 120, value: call.title ?? '' });
  const dialog = openDialog('Name the call', element('form', { onsubmit: async (event) => {
    event.preventDefault();
    if (input.value.trim() !== '' && await ask({ do: 'rename', title: input.value.trim() })) dialog.close();
  } }, element('label', { for: 'new-title' }, 'What it is about, in a few words'), input,
  element('button', { type: 'submit', class: 'main' }, 'name it')));
  input.focus();
});

const help = [
  ['press Hall plate up', 'what was done: press, hold ... for 4s, wait about 2 min, go to the attic, power off, power on'],
  ['addressed Table, Door with Hall plate', 'several were given their addresses'],
  ['Table blinks', 'what was seen: is on, is off, lamp is dark, lamp is steady, breathes, blips, refuses'],
  ['Hall plate switches show 23/4', 'what somebody read'],
  ['Door never reacts', 'what never happens: never reacts, never blips'],
  ['complaint Door is off', 'what they call for; it is believed more than anything else'],
  ['perhaps Table blinks', 'nobody is sure of it'],
  ['y, n, e, c', 'yes, no, something else, cannot; of a step d, n: done, not so'],
  ['b', 'back a step'],
];
document.querySelector('#help').addEventListener('click', () => openDialog('Keys and words', [
  element('p', {}, 'Everything can be written in the line. A few letters of each word are enough: "ta bl" is "Table blinks" where that fits ' +
    'best. Arrows choose another sentence, Enter takes it, Escape empties the line. Nothing happens on a single key by itself.'),
  element('dl', { class: 'words-list' }, help.map(([words, meaning]) => element('div', {}, element('dt', {}, element('kbd', {}, words)), element('dd', {}, meaning)))),
]));

window.drybusCall = { get call() { return call; }, connection };
connection.open();
line.focus();
