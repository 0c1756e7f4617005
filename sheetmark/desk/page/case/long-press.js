// A finger that rests on a tooth: the touch counterpart of a right click.

const HOLD_MS = 500;
const MOVED_PX = 10; // a finger that moves so far scrolls the page
const LIFTED_MS = 100; // a click that comes of lifting the finger comes within this

/** Watches a node for a finger that rests; where it is lifted, nothing is pressed as well. */
export class LongPress {
  #held;
  /** @type {number | undefined} set while a finger may yet come to rest */
  #timer;
  /** @type {[number, number]} */
  #start = [0, 0];
  /** @type {EventTarget | null} */
  #target = null;

  /** @param {(target: EventTarget | null) => void} held takes what the finger rests on */
  constructor(held) {
    this.#held = held;
  }

  /** @param {SVGElement} node */
  watch(node) {
    node.addEventListener("pointerdown", (event) => this.#begin(event));
    node.addEventListener("pointermove", (event) => this.#move(event));
    for (const name of /** @type {const} */ (["pointerup", "pointercancel", "pointerleave"])) {
      node.addEventListener(name, () => this.#end());
    }
    // Some browsers open a menu where a finger rests, and some do not.
    node.addEventListener(
      "contextmenu",
      (event) => {
        if (this.#timer === undefined) return;
        swallow(event);
        this.#rest();
      },
      true,
    );
  }

  /** @param {PointerEvent} event */
  #begin({ pointerType, isPrimary, clientX, clientY, target }) {
    this.#end();
    if (pointerType !== "touch" || !isPrimary) return;
    this.#start = [clientX, clientY];
    this.#target = target;
    this.#timer = setTimeout(() => this.#rest(), HOLD_MS);
  }

  /** @param {PointerEvent} event */
  #move({ clientX, clientY }) {
    const [x, y] = this.#start;
    if (Math.hypot(clientX - x, clientY - y) > MOVED_PX) this.#end();
  }

  #end() {
    clearTimeout(this.#timer);
    this.#timer = undefined;
  }

  #rest() {
    this.#end();
    swallowUntilLifted();
    this.#held(this.#target);
  }
}

/** The finger is lifted over what has opened under it, which must not be pressed by that. */
function swallowUntilLifted() {
  const names = /** @type {const} */ (["click", "contextmenu"]);
  const end = () => {
    for (const name of names) window.removeEventListener(name, swallow, true);
    window.removeEventListener("click", end, true);
  };
  const lifted = () => {
    window.addEventListener("click", end, true);
    setTimeout(end, LIFTED_MS);
  };
  for (const name of names) window.addEventListener(name, swallow, true);
  for (const name of ["pointerup", "pointercancel"]) {
    window.addEventListener(name, lifted, { once: true, capture: true });
  }
}

/** @param {Event} event */
function swallow(event) {
  event.preventDefault();
  event.stopPropagation();
}
