// Keys on the photograph: points by the cross, a mark moved or walked to, the view.
import { clamp, movedBox } from "./geometry.js";

const ARROWS = /** @type {Record<string, [number, number]>} */ ({
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
});

/** Keys on the photograph. */
export class Keys {
  /** @param {import("./mat_hand.js").Hand} hand */
  constructor(hand) {
    this.hand = hand;
    this.m = hand.m;
  }

  // --- keys -----------------------------------------------------------------------------------
  key(/** @type {KeyboardEvent} */ e) {
    if (e.isComposing || e.ctrlKey || e.metaKey || /** @type {Element} */ (e.target).closest("input,select,button"))
      return;
    if (this.keyPoints(e) || this.keyZone(e) || this.keyView(e) || this.m.light.key(e)) e.preventDefault();
  }
  keyPoints(/** @type {KeyboardEvent} */ e) {
    if (!this.hand.pointing) return false;
    const { m } = this,
      way = ARROWS[e.key];
    if (way) {
      const [w, h] = m.view.inside(),
        far = (e.shiftKey ? 40 : 4) / m.view.k;
      const from = this.hand.dots.cursor ?? m.view.pixel(w / 2, h / 2);
      this.hand.dots.cursor = [from[0] + way[0] * far, from[1] + way[1] * far];
      m.marks.tips();
    } else if (e.key === "Enter" && m.mode === "bend") this.hand.dots.endBend();
    else if (e.key === "Enter" || e.key === " ") {
      if (this.hand.dots.cursor) this.hand.dots.mark([...this.hand.dots.cursor]);
    } else if (e.key === "Backspace") this.hand.dots.unmark();
    else return false;
    return true;
  }
  keyZone(/** @type {KeyboardEvent} */ e) {
    const { m } = this,
      z = document.activeElement?.closest?.(".pb-zone") ? m.marks.chosen() : undefined,
      way = ARROWS[e.key];
    if (way && z && m.changing()) this.nudge(z, way, e);
    else if (e.key === " " && e.shiftKey && z)
      m.choose(z.id); // as Shift and a click
    else if (e.key === "PageDown") this.hand.step(1);
    else if (e.key === "PageUp") this.hand.step(-1);
    else if (e.key === "Home" && m.st.zones[0]) {
      this.hand.select(m.st.zones[0].id);
      this.hand.step(0);
    } else return m.changing() && this.keyChange(e);
    return true;
  }
  /** A mark moves by one pixel or ten; with Alt it grows. @param {import("./mat_marks.js").Zone} z @param {[number, number]} way @param {KeyboardEvent} e */
  nudge(z, way, e) {
    const { m } = this,
      b = m.marks.box(z),
      far = e.shiftKey ? 10 : 1,
      [dx, dy] = [way[0] * far, way[1] * far],
      { width: W, height: H } = m.st;
    const grown = { ...b, w: clamp(b.w + dx, 3, W - b.x), h: clamp(b.h + dy, 3, H - b.y) };
    m.marks.local = { id: z.id, box: e.altKey ? grown : movedBox(b, dx, dy, W, H) };
    clearTimeout(this.hand.nudge);
    this.hand.nudge = window.setTimeout(() => this.hand.finishNudge(), 700); // one revision for one run of presses
    m.marks.paint();
  }
  /** Keys that change marks. @param {KeyboardEvent} e */
  keyChange(e) {
    const { m } = this;
    if ((e.key === "Delete" || e.key === "Backspace") && m.st.selected) {
      m.host.focus({ preventScroll: true });
      m.ask("delete_zone", { zone: m.st.selected });
    } else if (e.key === "n") this.hand.newInMiddle();
    else if (e.key === "r" && m.marks.chosen()?.sure) m.cards.signs.right();
    else if (e.key === "l") m.cards.signs.lookNext();
    else if (e.key === "d") this.hand.setMode("draw");
    else if (e.key === "o") this.hand.setMode("lasso");
    else return false;
    return true;
  }
  keyView(/** @type {KeyboardEvent} */ e) {
    const { m } = this,
      way = ARROWS[e.key];
    if (way) {
      m.view.whole = false;
      m.view.ox -= way[0] * 40;
      m.view.oy -= way[1] * 40;
      m.view.moved();
    } else if (e.key === "+" || e.key === "=") m.view.middle(1.25);
    else if (e.key === "-") m.view.middle(0.8);
    else if (e.key === "0") m.view.fit();
    else if (e.key === "h") this.hand.setMode("hand");
    else if (e.key === "Escape") {
      if (m.mode !== "hand") this.hand.setMode("hand");
      else if (m.marks.several.size) m.let();
      else this.hand.select("");
      m.marks.local = null;
      m.host.focus({ preventScroll: true });
      m.marks.paint();
    } else return false;
    return true;
  }
}
