// The speed slider is logarithmic: each third of its way is as many times faster as the one before.
export const slowest = 0.1;
export const fastest = 10000;
export const stops = [0.1, 0.25, 0.5, 1, 2, 5, 10, 30, 60, 100, 300, 1000, 3000, 10000];

const range = Math.log(fastest / slowest);

// From a position 0..1 to a speed, and back. Near a round speed the slider means that one.
export function speedAt(position) {
  const speed = slowest * Math.exp(Math.min(1, Math.max(0, position)) * range);
  const near = stops.find((stop) => Math.abs(Math.log(stop / speed)) < range * 0.012);
  return near ?? Number(speed.toPrecision(2));
}

export const positionOf = (speed) => Math.log(Math.min(fastest, Math.max(slowest, speed)) / slowest) / range;

export const faster = (speed) => stops.find((stop) => stop > speed * 1.001) ?? fastest;
export const slower = (speed) => stops.findLast((stop) => stop < speed * 0.999) ?? slowest;
