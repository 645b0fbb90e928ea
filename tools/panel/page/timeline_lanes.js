// From the lines of the timeline to what is drawn: spans for each device, presses, telegram-free marks.

// Spans of a fact: [{value, from_s, to_s, open}]. `dull` values make no span.
function spans(lines, dull, end_s) {
  const made = [];
  let open = null;
  const close = (at_s, isOpen) => {
    if (open && at_s > open.from_s) made.push({ ...open, to_s: at_s, open: isOpen });
    open = null;
  };
  for (const { at_s, value } of lines) {
    close(at_s, false);
    if (!dull.includes(value)) open = { value, from_s: at_s };
  }
  close(end_s, true);
  return made;
}

// What one device shows over time. Blips and breathing are not in the timeline: they come with every telegram.
export function deviceLane(timeline, name, end_s) {
  const own = timeline.filter((line) => line.who === name);
  const of = (kind) => own.filter((line) => line.kind === kind);
  const setup = spans(of('mode'), ['normal', ''], end_s);
  // A blink lasts as long as the setup that it shows; where that is hidden, there is a mark for what somebody saw.
  const isInSetup = (at_s) => setup.some(({ from_s, to_s }) => from_s <= at_s && at_s <= to_s);
  return {
    setup,
    shown: of('indicator').filter(({ value, at_s }) => value !== 'blink' || !isInSetup(at_s))
      .map(({ at_s, value }) => ({ at_s, value })),
    off: spans(of('power'), ['on', ''], end_s),
    stored: of('stored').map(({ at_s, value }) => ({ at_s, value })),
    pressed: own.filter((line) => line.kind === 'step' && line.buttons?.length > 0)
      .map(({ at_s, for_s, buttons }) => ({ from_s: at_s, to_s: for_s === null ? end_s : at_s + for_s, buttons })),
  };
}

// Where one person was: stays and walks.
export function personLane(timeline, name, start, end_s) {
  const made = [];
  let now = { kind: 'stay', place: start, from_s: 0 };
  const change = (at_s, next) => {
    if (at_s > now.from_s) made.push({ ...now, to_s: at_s });
    now = next;
  };
  for (const line of timeline) {
    if (line.person !== name) continue;
    if (line.kind === 'walked') change(line.at_s, { kind: 'walk', place: line.value, from_s: line.at_s });
    if (line.kind === 'arrived') change(line.at_s, { kind: 'stay', place: line.value, from_s: line.at_s });
  }
  if (end_s > now.from_s) made.push({ ...now, to_s: end_s });
  return made;
}

const nice = [10, 20, 30, 60, 120, 180, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400, 172800, 604800,
  1209600, 2678400];

// The length of the axis: it grows in steps, so that the picture stands still in between.
export const axisLength = (reached_s) => nice.find((length) => length >= reached_s * 1.02 + 0.5) ?? nice.at(-1);

// Where the axis is marked: at most eight round times.
export function axisMarks(length_s) {
  const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400, 172800, 432000];
  const step = steps.find((candidate) => length_s / candidate <= 8) ?? steps.at(-1);
  return Array.from({ length: Math.floor(length_s / step) + 1 }, (_, i) => i * step);
}
