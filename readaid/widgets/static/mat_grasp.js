// What a press on the photograph begins: moving it, a point, a zone, a line round marks, a mark moved or resized.

/** @typedef {import("./mat_marks.js").Box} Box */
/** @typedef {[number, number]} Point */
/** The photograph is moved; `pick` is what a press without moving chooses, "" or null for nothing, undefined where it
 * chooses not at all. @typedef {{x: number, y: number, cx: number, cy: number, far?: boolean}} Held
 * @typedef {Held & {kind: "pan", button?: number, pick?: string|null}} Pan */
/** A point is set where the hand does not move. @typedef {Held & {kind: "mark", p: Point}} Mark */
/** @typedef {{kind: "draw", p0: Point, cur?: Point}} Drawing */
/** @typedef {{kind: "lasso", line: Point[], add: boolean}} Lasso */
/** @typedef {{kind: "corner", id: string, c: string, b0: Box, moved?: boolean}} Resizing */
/** @typedef {{kind: "move", id: string, p0: Point, b0: Box, moved?: boolean}} Moving */
/** @typedef {Pan|Mark|Drawing|Lasso|Resizing|Moving|{kind: "pinch"}|{kind: "cut"}|{kind: "among", id: string}} Drag */

/** What a press begins. @param {import("./mat_hand.js").Hand} hand @param {PointerEvent} e @returns {Drag} */
export function grasp(hand, e) {
  const { m } = hand,
    p = m.view.toImage(e),
    target = /** @type {Element} */ (e.target),
    c = target.getAttribute("data-c"),
    g = target.closest(".pb-zone"),
    z = g && m.marks.find(g.getAttribute("data-id") ?? ""),
    chosen = m.marks.chosen(),
    held = { x: e.clientX - m.view.ox, y: e.clientY - m.view.oy, cx: e.clientX, cy: e.clientY };
  if (target.closest(".pb-cut")) return { kind: "cut" };
  if (e.button === 1 || e.button === 2 || hand.fingers.size > 1) return { kind: "pan", ...held, button: e.button };
  if (hand.pointing) return { kind: "mark", ...held, p };
  if (m.mode === "draw" && m.editing) return { kind: "draw", p0: p };
  if (m.mode === "lasso") return { kind: "lasso", line: [p], add: e.shiftKey };
  if (c && chosen && m.changing()) return { kind: "corner", id: chosen.id, c, b0: { ...m.marks.box(chosen) } };
  if (z && e.shiftKey) return { kind: "among", id: z.id };
  if (z && z.id === m.st.selected && m.changing()) return { kind: "move", id: z.id, p0: p, b0: { ...m.marks.box(z) } };
  return { kind: "pan", ...held, pick: z ? z.id : null };
}
