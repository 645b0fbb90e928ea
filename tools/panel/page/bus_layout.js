// Where the stops of the bus are drawn: a line runs from left to right, branches of a tree drop to rows of their own.

const most_columns = 20;

// nodes: names in the order of the wiring; links: [{name, a, b}]. Returns {columns, rows, at: Map(name -> {x, y})}.
export function layOut(nodes, links) {
  const neighbours = new Map(nodes.map((node) => [node, []]));
  for (const { a, b } of links) {
    neighbours.get(a)?.push(b);
    neighbours.get(b)?.push(a);
  }
  const at = new Map();
  let rows = 0;
  const ends = [...nodes].sort((a, b) => neighbours.get(a).length - neighbours.get(b).length);
  for (const start of [nodes[0], ...ends]) {
    if (start === undefined || at.has(start)) continue;
    const first = farthest(start, neighbours);
    place(first, 0, rows, neighbours, at);
    rows = Math.max(...[...at.values()].map(({ y }) => y)) + 1;
  }
  return folded({ columns: 1 + Math.max(0, ...[...at.values()].map(({ x }) => x)), rows: Math.max(1, rows), at });
}

// A line that is too long for one row goes on in the next, back and forth.
function folded(layout) {
  if (layout.rows > 1 || layout.columns <= most_columns) return layout;
  for (const spot of layout.at.values()) {
    spot.y = Math.floor(spot.x / most_columns);
    const along = spot.x % most_columns;
    spot.x = spot.y % 2 === 0 ? along : most_columns - 1 - along;
  }
  return { columns: most_columns, rows: Math.ceil(layout.columns / most_columns), at: layout.at };
}

// The end of the longest way from a node. Of equals, the first: a line is drawn as it was written.
function farthest(start, neighbours) {
  const far = distances(start, neighbours);
  const most = Math.max(...far.values());
  const ends = [...far].filter(([, distance]) => distance === most).map(([node]) => node);
  return neighbours.get(start).length <= 1 ? start : ends[0];
}

function distances(start, neighbours) {
  const far = new Map([[start, 0]]);
  for (const node of far.keys()) {
    for (const next of neighbours.get(node)) if (!far.has(next)) far.set(next, far.get(node) + 1);
  }
  return far;
}

// The longest branch goes on in the same row, the others below it.
function place(node, x, y, neighbours, at) {
  at.set(node, { x, y });
  const onward = neighbours.get(node).filter((next) => !at.has(next))
    .map((next) => ({ next, depth: depthBeyond(next, node, neighbours) }))
    .sort((a, b) => b.depth - a.depth);
  onward.forEach(({ next }, index) => {
    if (at.has(next)) return;
    const row = index === 0 ? y : Math.max(...[...at.values()].map((spot) => spot.y)) + 1;
    place(next, x + 1, row, neighbours, at);
  });
}

function depthBeyond(node, from, neighbours) {
  const far = new Map([[from, -1], [node, 0]]);
  for (const [each, distance] of far) {
    if (each === from) continue;
    for (const next of neighbours.get(each)) if (!far.has(next)) far.set(next, distance + 1);
  }
  return Math.max(...far.values());
}

// The nodes from one to another, both included; null when there is no way.
export function way(from, to, links) {
  const before = new Map([[from, null]]);
  for (const node of before.keys()) {
    for (const { a, b } of links) {
      const next = a === node ? b : b === node ? a : null;
      if (next !== null && !before.has(next)) before.set(next, node);
    }
  }
  if (!before.has(to)) return null;
  const path = [to];
  while (before.get(path[0]) !== null) path.unshift(before.get(path[0]));
  return path;
}
