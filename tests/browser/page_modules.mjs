// The page's pure modules, as any node can read them: without a page they speak as they are written.
export const pageFolder = new URL('../../tools/panel/page/', import.meta.url);

export const pageModule = (name) => import(new URL(name, pageFolder));
