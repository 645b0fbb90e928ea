// What the screen itself shows, as pictures, and how often it flashes: squares of the browser's own pictures, and flashes of each as
// WCAG 2.2 defines them.

// px of the pictures, which are half as wide and high as the page. WCAG lets a flash be as large as a quarter of 341 by
// 256 px before it counts; here a lamp counts.
const square = 16;

// Pictures with their times, in ms.
export async function film(page, real_ms) {
  const devtools = await page.context().newCDPSession(page);
  const frames = [];
  devtools.on('Page.screencastFrame', ({ data, metadata, sessionId }) => {
    frames.push({ data, at: metadata.timestamp * 1000 });
    devtools.send('Page.screencastFrameAck', { sessionId }).catch(() => {});
  });
  await devtools.send('Page.startScreencast', { format: 'jpeg', quality: 60, maxWidth: 640, maxHeight: 360 });
  await page.waitForTimeout(real_ms);
  await devtools.send('Page.stopScreencast');
  await devtools.detach();
  return frames.sort((a, b) => a.at - b.at);  // the first picture can come late
}

// Mean relative luminance of every square, decoded by the browser in a page of its own.
export const squaresOf = (decoder, { data }) => decoder.evaluate(async ([base64, size]) => {
  const image = await createImageBitmap(await (await fetch(`data:image/jpeg;base64,${base64}`)).blob());
  const canvas = new OffscreenCanvas(image.width, image.height);
  const context = canvas.getContext('2d', { willReadFrequently: true });
  context.drawImage(image, 0, 0);
  const { data: pixels, width, height } = context.getImageData(0, 0, image.width, image.height);
  window.linear ??= Float64Array.from({ length: 256 }, (_, i) => {
    const c = i / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  const columns = Math.floor(width / size);
  const rows = Math.floor(height / size);
  const sums = new Float64Array(columns * rows);
  for (let y = 0; y < rows * size; ++y) {
    for (let x = 0; x < columns * size; ++x) {
      const at = 4 * (y * width + x);
      sums[Math.floor(y / size) * columns + Math.floor(x / size)] += 0.2126 * window.linear[pixels[at]] +
        0.7152 * window.linear[pixels[at + 1]] + 0.0722 * window.linear[pixels[at + 2]];
    }
  }
  return { columns, light: Array.from(sums, (sum) => sum / (size * size)) };
}, [data, square]);

// ms by which a picture may be late; before a longer pause nothing changed, as pictures come only of changes.
const latest_picture = 200;

// Changes by a tenth or more between turning points: [{cell, from, at, way}], each between the pictures before and after it.
export function changes(times, pictures) {
  const found = [];
  for (let cell = 0; cell < pictures[0].light.length; ++cell) {
    let turn = pictures[0].light[cell];
    let way = 0;
    for (let i = 1; i < pictures.length; ++i) {
      const light = pictures[i].light[cell];
      const step = light - turn;
      if (Math.abs(step) >= 0.1 && Math.min(light, turn) < 0.8 && Math.sign(step) !== way) {
        way = Math.sign(step);
        found.push({ cell, from: Math.max(times[i - 1], times[i] - latest_picture), at: times[i], way });
        turn = light;
      } else if (Math.sign(step) === way) {
        turn = light;
      }
    }
  }
  return found;
}

// Flashes of one square that are within a second from `start` for certain: pairs of its changes, [from, to].
function flashesOf(changed, start) {
  const within = changed.filter(({ from, at }) => from >= start && at <= start + 1000).map(({ at }) => at);
  return within.flatMap((at, i) => i % 2 === 1 ? [[within[i - 1], at]] : []);
}

// Most flashes in any one second, all squares summed. What goes bright and dark in several squares at the same moments
// is one flash, of their combined area.
export function mostFlashes(found) {
  const together = (a, b) => Math.abs(a - b) <= 50;
  const perSquare = groupByCell(found);
  let most = 0;
  for (const { from: start } of found) {
    const counted = [];
    const pairs = [...perSquare.values()].flatMap((changed) => flashesOf(changed, start));
    for (const [from, to] of pairs) {
      const known = counted.some(([a, b]) => [a, b].some((time) => together(time, from) || together(time, to)));
      if (!known) counted.push([from, to]);
    }
    most = Math.max(most, counted.length);
  }
  return most;
}

// Films the page for so long: most flashes in a second, and of how many pictures.
export async function filmed(page, decoder, real_ms) {
  const frames = await film(page, real_ms);
  const pictures = [];
  for (const frame of frames) pictures.push(await squaresOf(decoder, frame));
  return { most: pictures.length === 0 ? 0 : mostFlashes(changes(frames.map(({ at }) => at), pictures)), pictures: pictures.length };
}

function groupByCell(found) {
  const groups = new Map();
  for (const change of found) groups.set(change.cell, [...(groups.get(change.cell) ?? []), change]);
  return groups;
}

