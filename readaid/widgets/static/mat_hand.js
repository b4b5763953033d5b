// What the hand does on the photograph: moving and zooming, choosing, drawing, the lasso, points for a scale or a line.
import { boxBetween, clamp, movedBox, reshaped, within } from "./geometry.js";
import { s } from "./kit.js";
import { grasp } from "./mat_grasp.js";
import { hints } from "./mat_hints.js";
import { Keys } from "./mat_keys.js";
import { Points } from "./mat_points.js";
import { t } from "./texts.js";

/** Points that are clicked in each mode; Infinity where the hand says when it is done. */
const POINTS = /** @type {Record<string, number>} */ ({ scale: 2, square: 4, sphere: 2, note: 1, bend: Infinity });

/** @typedef {import("./mat_grasp.js").Drag} Drag */
/** @typedef {import("./mat_marks.js").Box} Box */

/** The hand on the photograph: what a press begins, what letting go keeps. */
export class Hand {
  /** @param {import("./photo_board.js").Board} m the board */
  constructor(m) {
    this.m = m;
    this.dots = new Points(this);
    this.keys = new Keys(this);
    /** @type {Drag|null} */ this.drag = null;
    this.nudge = 0;
    this.divider = false;
    this.fingers = /** @type {Map<number, PointerEvent>} */ (new Map());
  }
  get pointing() {
    return Boolean(POINTS[this.m.mode]);
  }
  listen() {
    const { m } = this,
      /** @type {<K extends keyof HTMLElementEventMap>(type: K, f: (e: HTMLElementEventMap[K]) => void, o?: object) => void} */
      on = (type, f, o = {}) => m.host.addEventListener(type, f, { ...o, signal: m.signal });
    on("wheel", (/** @type {WheelEvent} */ e) => this.wheel(e), { passive: false });
    on("pointerdown", (/** @type {PointerEvent} */ e) => this.down(e));
    on("pointermove", (/** @type {PointerEvent} */ e) => this.move(e));
    on("pointerup", (/** @type {PointerEvent} */ e) => this.up(e));
    on("pointercancel", (/** @type {PointerEvent} */ e) => {
      this.fingers.delete(e.pointerId);
      this.drag = null;
      m.marks.local = null;
      m.marks.paint();
    });
    on("pointerleave", () => m.light.away());
    on("contextmenu", (/** @type {Event} */ e) => e.preventDefault());
    on("dblclick", () => {
      if (m.mode === "bend") this.dots.endBend();
    });
    on("keydown", (/** @type {KeyboardEvent} */ e) => this.keys.key(e));
    on("focusout", () => {
      if (!m.marks.redrawing) this.finishNudge();
    });
    on("focusin", (/** @type {FocusEvent} */ e) => {
      const id = /** @type {Element} */ (e.target).closest?.(".pb-zone")?.getAttribute("data-id");
      if (
        !m.marks.redrawing &&
        id &&
        id !== m.st.selected &&
        /** @type {Element} */ (e.target).matches(":focus-visible")
      )
        this.select(id);
    });
  }

  setMode(/** @type {string} */ mode, quiet = false) {
    const { m } = this;
    m.mode = mode;
    this.dots.points = [];
    this.dots.cursor = null;
    // Asked before anything is drawn, and the focus moved while the page lies still: on cards laid anew it would have the
    // browser lay the whole page out at once, and the sign that the step was heard came two layouts late.
    if (mode === "scale" && m.st.photo && !m.st.scale && !m.st.ruler_sought && !m.st.busy) m.ask("find_ruler"); // the hand may click two ends meanwhile
    if (this.pointing || mode === "lasso" || mode === "draw") m.host.focus({ preventScroll: true });
    m.host.dataset.mode = mode;
    if (mode === "bend") this.dots.band = m.st.across || 100;
    m.cards.paint();
    m.marks.tips();
    if (!quiet) m.say(hints()[mode] ?? "");
  }
  select(/** @type {string} */ id) {
    const { m } = this;
    if (id === m.st.selected) return;
    if (m.looked) {
      m.looked = false;
      m.say("", "quiet");
    }
    m.st = { ...m.st, selected: id };
    m.marks.paint();
    m.cards.paint();
    m.ask("select", { zone: id });
  }
  step(/** @type {number} */ by) {
    const { m } = this,
      order = m.st.zones,
      i = order.findIndex((z) => z.id === m.st.selected);
    const next = order[clamp(i + by, 0, order.length - 1)] ?? order[0];
    if (!next) return;
    this.finishNudge();
    this.select(next.id);
    m.view.showZone(next.id);
    m.marks.focus(next.id);
  }
  wheel(/** @type {WheelEvent} */ e) {
    const { m } = this;
    // In a notebook a wheel over a photograph that was not clicked scrolls the page, or nobody could get past it.
    if (!e.ctrlKey && !m.alone() && !m.host.contains(document.activeElement)) {
      m.say(t`Click the photograph first; then the wheel zooms.`, "quiet");
      return;
    }
    e.preventDefault();
    const r = m.view.size();
    m.view.zoomAt(Math.exp(-clamp(e.deltaY, -240, 240) * 0.0016), e.clientX - r.left, e.clientY - r.top);
  }
  down(/** @type {PointerEvent} */ e) {
    const { m } = this;
    if (/** @type {Element} */ (e.target).closest("button,input,select,label,.pb-strip")) return;
    this.fingers.set(e.pointerId, e);
    m.host.setPointerCapture(e.pointerId);
    if (this.fingers.size === 2) {
      this.drag = { kind: "pinch" };
      return;
    }
    this.finishNudge();
    this.drag = grasp(this, e);
    m.host.focus({ preventScroll: true });
  }
  move(/** @type {PointerEvent} */ e) {
    const { m, drag } = this,
      { width: W, height: H } = m.st;
    m.light.under(e);
    if (this.fingers.has(e.pointerId) && this.fingers.size === 2) {
      this.pinch(e);
      return;
    }
    if (!drag) return;
    const p = m.view.toImage(e);
    if (drag.kind === "cut") {
      const r = m.view.size();
      m.view.cut = clamp((e.clientX - r.left) / r.width, 0.02, 0.98);
      m.light.place();
    } else if (drag.kind === "pan" || drag.kind === "mark") {
      if (!drag.far && Math.hypot(e.clientX - drag.cx, e.clientY - drag.cy) < 5) return;
      drag.far = true;
      m.view.whole = false;
      m.view.ox = e.clientX - drag.x;
      m.view.oy = e.clientY - drag.y;
      m.marks.lie();
    } else if (drag.kind === "draw") {
      drag.cur = p;
      m.marks.tips();
    } else if (drag.kind === "lasso") {
      drag.line.push(p);
      m.marks.tips();
    } else if (drag.kind === "move") {
      const b = movedBox(drag.b0, p[0] - drag.p0[0], p[1] - drag.p0[1], W, H);
      if (b.x !== drag.b0.x || b.y !== drag.b0.y) drag.moved = true;
      m.marks.local = { id: drag.id, box: b };
      m.marks.paint();
    } else if (drag.kind === "corner") {
      const b = reshaped(drag.b0, drag.c, p, W, H);
      if (b.w > 2 && b.h > 2) {
        drag.moved = true;
        m.marks.local = { id: drag.id, box: b };
        m.marks.paint();
      }
    }
    m.view.draw();
  }
  /** Two fingers zoom and move. @param {PointerEvent} e */
  pinch(e) {
    const view = this.m.view,
      of = () => {
        const [a, b] = [...this.fingers.values()];
        return {
          d: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY),
          x: (a.clientX + b.clientX) / 2,
          y: (a.clientY + b.clientY) / 2,
        };
      };
    const was = of();
    this.fingers.set(e.pointerId, e);
    const now = of(),
      r = view.size();
    view.ox += now.x - was.x;
    view.oy += now.y - was.y;
    view.zoomAt(now.d / (was.d || 1), now.x - r.left, now.y - r.top);
  }
  up(/** @type {PointerEvent} */ e) {
    this.fingers.delete(e.pointerId);
    const { m } = this,
      d = this.drag;
    this.drag = null;
    if (!d) return;
    if (d.kind === "draw") this.drawn(d);
    else if (d.kind === "lasso") this.caught(d);
    else if (d.kind === "among") m.choose(d.id);
    else if (d.kind === "pan" || d.kind === "mark") this.pressed(d);
    else if ((d.kind === "move" || d.kind === "corner") && d.moved && m.marks.local)
      this.keep(m.marks.local.id, m.marks.local.box);
    m.marks.tips();
    m.view.draw();
  }
  /** The hand was let go where it was put down, or had moved the photograph.
   * @param {import("./mat_grasp.js").Pan | import("./mat_grasp.js").Mark} d */
  pressed(d) {
    const { m } = this;
    if (d.far) return;
    if (d.kind === "mark") this.dots.mark(d.p);
    else if (d.button === 2 && m.mode === "bend") this.dots.endBend();
    else if (d.pick !== undefined) {
      m.let();
      this.select(d.pick ?? "");
      if (d.pick) m.marks.focus(d.pick);
    }
  }
  /** A zone was drawn. @param {import("./mat_grasp.js").Drawing} d */
  drawn(d) {
    if (!d.cur) return;
    const { m } = this,
      c = boxBetween(d.p0, d.cur, m.st.width, m.st.height);
    if (c.w * m.view.k > 5 && c.h * m.view.k > 5) this.add(c);
    else m.say(t`That was too small for a zone; drag right round the sign.`);
  }
  /** Marks within a line are chosen. @param {import("./mat_grasp.js").Lasso} d */
  caught(d) {
    const { m } = this,
      inside = m.st.zones.filter((z) => within([z.x + z.w / 2, z.y + z.h / 2], d.line)).map((z) => z.id);
    m.marks.several = new Set([...(d.add ? m.marks.several : []), ...inside]);
    m.marks.paint();
    m.cards.paint();
    m.say(
      inside.length
        ? t`${m.marks.several.size} chosen. Say beside the photograph what they are.`
        : t`No mark lies within that line.`,
    );
  }

  // --- keeping a change -------------------------------------------------------------------------
  /** A box is kept as the zone's. @param {string} id @param {Box} b */
  keep(id, b) {
    const { m } = this;
    return m.ask("change_zone", { zone: id, box: [b.x, b.y, b.w, b.h] }).then(() => {
      if (m.marks.local?.id === id && !this.drag && !this.nudge) {
        m.marks.local = null;
        m.marks.paint();
      }
    });
  }
  finishNudge() {
    if (!this.nudge) return;
    clearTimeout(this.nudge);
    this.nudge = 0;
    if (this.m.marks.local) this.keep(this.m.marks.local.id, this.m.marks.local.box);
  }
  /** A new zone: its mark stands there at once, in dashes until the register has it. @param {import("./mat_marks.js").Box} b */
  add(b) {
    const { m } = this;
    m.marks.expected.add(b);
    m.marks.tips();
    m.ask("add_zone", { box: [b.x, b.y, b.w, b.h] }).then(() => {
      if (m.marks.expected.delete(b)) m.marks.tips();
    });
  }
  newInMiddle() {
    const { m } = this,
      [w, h] = m.view.inside(),
      [sw, sh] = m.st.usual ?? [60 / m.view.k, 60 / m.view.k],
      c = m.view.pixel(w / 2, h / 2);
    const b = boxBetween([c[0] - sw / 2, c[1] - sh / 2], [c[0] + sw / 2, c[1] + sh / 2], m.st.width, m.st.height);
    this.add(b);
  }
  /** What is under the hand and not yet kept, in screen pixels. */
  tips() {
    const { m, drag } = this,
      kids = this.dots.tips();
    if (drag?.kind === "draw" && drag.cur) {
      const r = m.view.screenBox(boxBetween(drag.p0, drag.cur, m.st.width, m.st.height));
      kids.push(s("rect", { class: "pb-new", x: r.x, y: r.y, width: r.w, height: r.h }));
    }
    if (drag?.kind === "lasso") {
      const line = drag.line.map((p) => m.view.at(p).join(","));
      kids.push(s("polygon", { class: "pb-new", points: line.join(" ") }));
    }
    return kids;
  }
}
