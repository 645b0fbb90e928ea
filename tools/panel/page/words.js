// What the page says, in the language of the class: texts as they are written here, unless the catalogue has others. The catalogue comes
// with the page or from its server (words.json): {language, plural, texts: {as written: other | [other for one, other for several, ...]}}.
import { pluralRule } from './plural_rule.js';

const carried = globalThis.document?.getElementById('words')?.textContent;
const asked = async () => {
  if (carried) return JSON.parse(carried);
  if (!globalThis.document) return {};
  return fetch('words.json').then((answer) => answer.json()).catch(() => ({}));
};
const { language = 'en', plural: rule = 'n != 1', texts = {} } = await asked();
const formOf = pluralRule(rule);
// English numbers as they are written everywhere else here.
const numbers = new Intl.NumberFormat(language === 'en' ? 'en-GB' : language, { maximumFractionDigits: 3 });

export { language };

export const number = (value) => numbers.format(value);

const shown = (value) => typeof value === 'number' ? number(value) : String(value);
const filled = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => name in values ? shown(values[name]) : whole);

// tr('{name} walks to {place}', { name, place }).
export const tr = (written, values = {}) => filled(texts[written] ?? written, values);

// Where one word is written for two things: trAs('state of a link', 'open').
export const trAs = (context, written) => texts[`${context}\u0004${written}`] ?? written;

// plural('{n} hint', '{n} hints', count): the form for that count.
export function plural(one, several, count, values = {}) {
  const forms = texts[one];
  const text = forms ? forms[formOf(count)] : [one, several][count === 1 ? 0 : 1];
  return filled(text, { n: count, ...values });
}

// Marks a text that is told elsewhere, by tr(text).
export const msg = (written) => written;
