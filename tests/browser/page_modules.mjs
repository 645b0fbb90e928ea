// The page's pure modules, as any node can read them: they import nothing, so their text is enough.
import { readFileSync } from 'node:fs';

export const pageFolder = new URL('../../tools/panel/page/', import.meta.url);

export const pageModule = (name) => {
  const text = readFileSync(new URL(name, pageFolder), 'utf8');
  return import(`data:text/javascript;base64,${Buffer.from(text).toString('base64')}`);
};
