// Which of a language's forms a count takes, by the formula that its catalogue has (GNU gettext, "Plural forms": an expression of C in n).
// Made into a function here, as the page's policy lets no text be made into code.

const operators = [['||'], ['&&'], ['==', '!='], ['<=', '>=', '<', '>'], ['+', '-'], ['*', '/', '%']];
const apply = {
  '||': (a, b) => Number(a !== 0 || b !== 0),
  '&&': (a, b) => Number(a !== 0 && b !== 0),
  '==': (a, b) => Number(a === b),
  '!=': (a, b) => Number(a !== b),
  '<=': (a, b) => Number(a <= b),
  '>=': (a, b) => Number(a >= b),
  '<': (a, b) => Number(a < b),
  '>': (a, b) => Number(a > b),
  '+': (a, b) => a + b,
  '-': (a, b) => a - b,
  '*': (a, b) => a * b,
  '/': (a, b) => Math.trunc(a / b),
  '%': (a, b) => a % b,
};

// A function of the count; fails where the formula is none.
export function pluralRule(formula) {
  const words = formula.match(/\d+|n|\|\||&&|[=!<>]=|[-<>+*/%?:()!]|\S/g) ?? [];
  let at = 0;
  const take = (wanted) => {
    if (words[at] !== wanted) throw new Error(`no plural formula: ${formula}`);
    at += 1;
  };
  function choice() {
    const condition = binary(0);
    if (words[at] !== '?') return condition;
    take('?');
    const yes = choice();
    take(':');
    const no = choice();
    return (n) => condition(n) !== 0 ? yes(n) : no(n);
  }
  function binary(level) {
    if (level === operators.length) return unary();
    let left = binary(level + 1);
    while (operators[level].includes(words[at])) {
      const by = apply[words[at++]];
      const [first, second] = [left, binary(level + 1)];
      left = (n) => by(first(n), second(n));
    }
    return left;
  }
  function unary() {
    if (words[at] === '!') {
      take('!');
      const of = unary();
      return (n) => Number(of(n) === 0);
    }
    if (words[at] === '(') {
      take('(');
      const inside = choice();
      take(')');
      return inside;
    }
    const word = words[at++] ?? '';
    if (word === 'n') return (n) => n;
    if (!/^\d+$/.test(word)) throw new Error(`no plural formula: ${formula}`);
    return () => Number(word);
  }
  const made = choice();
  if (at !== words.length) throw new Error(`no plural formula: ${formula}`);
  return made;
}
