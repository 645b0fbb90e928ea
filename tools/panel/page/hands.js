// The installer's hands: presses and holds by mouse, touch and keyboard. A press lasts as long as the finger stays.

export class Hands {
  #down = null;  // {device, by: Set of what holds it, owed: a release}

  // act: {press(device, buttons), release()}; press says whether a release is owed.
  constructor(act) {
    this.act = act;
  }

  // Makes a button of the page one that can be pressed and held.
  attach(node, device, buttons) {
    node.addEventListener('pointerdown', (event) => {
      if (event.button !== 0) return;
      event.preventDefault();
      node.focus({ preventScroll: true });
      node.setPointerCapture(event.pointerId);
      this.#press(device, buttons, event.pointerId);
    });
    for (const name of ['pointerup', 'pointercancel', 'lostpointercapture']) {
      node.addEventListener(name, (event) => this.#release(event.pointerId));
    }
    node.addEventListener('contextmenu', (event) => event.preventDefault());
    node.addEventListener('keydown', (event) => {
      if (event.key !== ' ' && event.key !== 'Enter') return;
      event.preventDefault();
      event.stopPropagation();
      if (!event.repeat) this.#press(device, buttons, event.key);
    });
    node.addEventListener('keyup', (event) => {
      if (event.key !== ' ' && event.key !== 'Enter') return;
      event.preventDefault();
      this.#release(event.key);
    });
    // A key that is down when the focus goes elsewhere never comes up here. A finger does.
    node.addEventListener('blur', () => [' ', 'Enter'].forEach((each) => this.#release(each)));
    // A screen reader's press is a click without a pointer: a short one.
    node.addEventListener('click', (event) => {
      if (event.detail !== 0 || this.#down) return;
      this.#press(device, buttons, 'click');
      setTimeout(() => this.#release('click'), 200);
    });
  }

  #press(device, buttons, by) {
    if (this.#down && this.#down.device !== device) this.#letGo();
    if (this.#down?.by.has(by)) return;
    this.#down ??= { device, by: new Set(), owed: false };
    this.#down.by.add(by);
    if (this.act.press(device, buttons)) this.#down.owed = true;
  }

  // Two fingers of one hand come off together: the first one up ends the press.
  #release(by) {
    if (this.#down?.by.has(by)) this.#letGo();
  }

  #letGo() {
    const was = this.#down;
    this.#down = null;
    if (was?.owed) this.act.release();
  }
}
