// What is inside of an element laid anew: what stays is not touched, the focus keeps its place.

/** @typedef {import("./kit.js").One} One */
/** @typedef {import("./kit.js").Kid} Kid */

/** What is there of them, in a row. @param {readonly (Kid|readonly Kid[])[]} kids @returns {(Node|string)[]} */
export const flat = (kids) =>
  /** @type {One[]} */ (/** @type {unknown} */ (kids.flat(Infinity))).filter(
    (k) => k !== null && k !== undefined && k !== false,
  );

/** Put what is inside in this order; what stands in its place already is not touched.
 * @param {Element} box @param {(Node|string)[]} kids */
function arrange(box, kids) {
  const stay = new Set(kids);
  let at = box.firstChild;
  const past = () => {
    while (at && !stay.has(at)) {
      const gone = at;
      at = at.nextSibling;
      gone.remove();
    }
  };
  for (const kid of kids) {
    past();
    if (kid === at) at = at.nextSibling;
    else box.insertBefore(typeof kid === "string" ? new Text(kid) : kid, at);
  }
  past();
}

/** What a choice shows and what it asks, by its box.
 * @type {WeakMap<Node, {said: string, select: HTMLSelectElement, pick: (v: string) => void}>} */
export const choices = new WeakMap();

/** A choice that stands in the box already and would be the same: a new one in its place is told by a screen reader as if
 * something had been chosen. @param {Element} box @param {Node|string} kid @returns {Node|string} */
function standing(box, kid) {
  const now = typeof kid === "string" ? undefined : choices.get(kid),
    key = now?.select.dataset.key;
  const there = key && box.querySelector(`:scope > .ra-field > select[data-key="${CSS.escape(key)}"]`)?.parentElement;
  const was = there && choices.get(there);
  if (!now || !was || was.said !== now.said || was.select.value !== now.select.value) return kid;
  was.pick = now.pick;
  return there;
}

/** Of a box, the key of what had the focus and cannot have it for now: the button that began a long work comes back to it.
 * @type {WeakMap<Element, string>} */
const waiting = new WeakMap();

/** Replace what is inside, but keep the focus where it was (elements are known by `data-key`) or at least near.
 * @param {Element} box @param {...(Kid|readonly Kid[])} kids */
export function refill(box, ...kids) {
  const was = /** @type {HTMLElement|null} */ (document.activeElement),
    ground = /** @type {HTMLElement|null} */ (box.closest("[tabindex]"));
  const key = was && box.contains(was) ? was.dataset.key : was && was === ground ? waiting.get(box) : null;
  waiting.delete(box);
  const laid = flat(kids).filter(Boolean);
  arrange(
    box,
    laid.map((kid) => standing(box, kid)),
  );
  if (!key || (document.activeElement === was && was !== ground)) return;
  const again = /** @type {HTMLElement|null} */ (box.querySelector(`[data-key="${CSS.escape(key)}"]`));
  again?.focus({ preventScroll: true });
  if (document.activeElement === again) return;
  if (again) waiting.set(box, key);
  if (document.activeElement === document.body) ground?.focus({ preventScroll: true }); // what had the focus is gone: the keys still belong here
}
