// What the page shows in each area, apart from what it ought to show: a change waits for the flash limiter's leave.

export class Areas {
  #shown = new Map();

  constructor(limiter) {
    this.limiter = limiter;
  }

  // Applies a value that differs from the one shown, if it may appear now. The first one always may. Where several
  // values show in one spot of the screen, `spot` names it: to the eye they are one.
  show(area, value, real_ms, apply, spot = area) {
    if (this.#shown.get(area) === value) return true;
    if (this.#shown.has(area) && !this.limiter.allow(spot, real_ms)) return false;
    this.#shown.set(area, value);
    apply(value);
    return true;
  }

  // For what changes its shape and hardly its light, at a pace at which people act.
  showAtOnce(area, value, apply) {
    if (this.#shown.get(area) === value) return;
    this.#shown.set(area, value);
    apply(value);
  }

  // For text and other things that can wait: never two changes within a second, so that it never is a flash.
  showSlowly(area, value, real_ms, apply) {
    if (this.#shown.get(area) === value) return true;
    if (this.limiter.changedLately(area, real_ms)) return false;
    return this.show(area, value, real_ms, apply);
  }

  // The same for a brightness 0..1: going on the same way is no new change.
  showBrightness(area, value, real_ms, apply) {
    const before = this.#shown.get(area);
    if (before === value) return true;
    if (before !== undefined && !this.limiter.allowBrightness(area, before, value, real_ms)) return false;
    this.#shown.set(area, value);
    apply(value);
    return true;
  }

  // It was drawn together with something else that had leave.
  noteBrightness(area, value) {
    this.#shown.set(area, value);
  }

  forget(prefix) {
    for (const area of this.#shown.keys()) if (area.startsWith(prefix)) this.#shown.delete(area);
  }
}
