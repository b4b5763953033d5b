// What the hand does on the photograph: moving and zooming, choosing, drawing, the lasso, points for a scale or a line.
import { beside, boxBetween, clamp, movedBox, reshaped, within } from "./geometry.js";
import { s } from "./kit.js";

const CORNERS = ["top left", "top right", "bottom right", "bottom left"];
/** Points that are clicked in each mode; Infinity where the hand says when it is done. */
const POINTS = /** @type {Record<string, number>} */ ({ scale: 2, square: 4, sphere: 2, bend: Infinity });
const KEYBOARD = "With the keyboard: arrows move the cross, Enter marks.";
const HINTS = /** @type {Record<string, string>} */ ({
  draw: "Drag round one sign. Each zone gets its number by itself.",
  lasso: "Draw a line round the signs you mean; Shift and a click adds one or lets it go.",
  scale: `Click one end of a length you know, then the other end. ${KEYBOARD}`,
  square: `Click four corners of something rectangular, clockwise from its top left. ${KEYBOARD}`,
  sphere: `Click the left and the right edge of a shiny ball in the picture. ${KEYBOARD}`,
  bend: "Click along the middle of the column, from above its first sign to below its last; double click, right click or Enter ends, Backspace takes a point back, Escape leaves. With the keyboard: arrows move the cross, the space bar marks.",
});
const ARROWS = /** @type {Record<string, [number, number]>} */ ({
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
});

export class Hand {
  /** @param {any} m the board */
  constructor(m) {
    this.m = m;
    this.drag = /** @type {any} */ (null);
    this.points = /** @type {[number,number][]} */ ([]);
    this.cursor = /** @type {[number,number]|null} */ (null);
    this.band = 0;
    this.nudge = 0;
    this.divider = false;
    this.fingers = /** @type {Map<number, PointerEvent>} */ (new Map());
  }
  get pointing() {
    return Boolean(POINTS[this.m.mode]);
  }
  listen() {
    const { m } = this,
      on = (/** @type {string} */ type, /** @type {any} */ f, o = {}) =>
        m.host.addEventListener(type, f, { ...o, signal: m.signal });
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
      if (m.mode === "bend") this.endBend();
    });
    on("keydown", (/** @type {KeyboardEvent} */ e) => this.key(e));
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

  // --- modes --------------------------------------------------------------------------------
  setMode(/** @type {string} */ mode, quiet = false) {
    const { m } = this;
    m.mode = mode;
    this.points = [];
    this.cursor = null;
    m.host.dataset.mode = mode;
    if (mode === "bend") this.band = m.st.across || 100;
    m.cards.paint();
    m.marks.tips();
    if (!quiet) m.say(HINTS[mode] ?? "");
    if (this.pointing || mode === "lasso" || mode === "draw") m.host.focus({ preventScroll: true });
    if (mode === "scale" && m.st.photo && !m.st.scale && !m.st.ruler_sought && !m.st.busy) m.ask("find_ruler"); // the hand may click two ends meanwhile
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
      i = order.findIndex((/** @type {any} */ z) => z.id === m.st.selected);
    const next = order[clamp(i + by, 0, order.length - 1)] ?? order[0];
    if (!next) return;
    this.finishNudge();
    this.select(next.id);
    m.view.showZone(next.id);
    m.marks.focus(next.id);
  }

  // --- pointer ------------------------------------------------------------------------------
  wheel(/** @type {WheelEvent} */ e) {
    const { m } = this;
    // In a notebook a wheel over a photograph that was not clicked scrolls the page, or nobody could get past it.
    if (!e.ctrlKey && !m.alone() && !m.host.contains(document.activeElement)) {
      m.say("Click the photograph first; then the wheel zooms.", "quiet");
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
    this.drag = this.grasp(e);
    m.host.focus({ preventScroll: true });
  }
  /** What a press begins. @param {PointerEvent} e */
  grasp(e) {
    const { m } = this,
      p = m.view.toImage(e),
      target = /** @type {Element} */ (e.target),
      c = target.getAttribute("data-c");
    const g = target.closest(".pb-zone"),
      z = g && m.marks.find(g.getAttribute("data-id") ?? "");
    const pan = { kind: "pan", x: e.clientX - m.view.ox, y: e.clientY - m.view.oy, cx: e.clientX, cy: e.clientY };
    if (target.closest(".pb-cut")) return { kind: "cut" };
    if (e.button === 1 || e.button === 2 || this.fingers.size > 1) return { ...pan, button: e.button };
    if (this.pointing) return { ...pan, kind: "mark", p };
    if (m.mode === "draw" && m.editing) return { kind: "draw", p0: p };
    if (m.mode === "lasso") return { kind: "lasso", line: [p], add: e.shiftKey };
    if (c && m.changing()) return { kind: "corner", id: m.st.selected, c, b0: { ...m.marks.box(m.marks.chosen()) } };
    if (z && e.shiftKey) return { kind: "among", id: z.id };
    if (z && z.id === m.st.selected && m.changing())
      return { kind: "move", id: z.id, p0: p, b0: { ...m.marks.box(z) } };
    return { ...pan, pick: z ? z.id : null };
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
    if (d.kind === "draw" && d.cur) this.drawn(d);
    else if (d.kind === "lasso") this.caught(d);
    else if (d.kind === "among") m.choose(d.id);
    else if (d.kind === "mark" && !d.far) this.mark(d.p);
    else if (d.kind === "pan" && !d.far && d.button === 2 && m.mode === "bend") this.endBend();
    else if (d.kind === "pan" && !d.far && d.pick !== undefined) {
      m.let();
      this.select(d.pick ?? "");
      if (d.pick) m.marks.focus(d.pick);
    } else if (d.moved && m.marks.local) this.keep(m.marks.local.id, m.marks.local.box);
    m.marks.tips();
    m.view.draw();
  }
  drawn(/** @type {any} */ d) {
    const { m } = this,
      c = boxBetween(d.p0, d.cur, m.st.width, m.st.height);
    if (c.w * m.view.k > 5 && c.h * m.view.k > 5) m.ask("add_zone", { box: [c.x, c.y, c.w, c.h] });
    else m.say("That was too small for a zone; drag right round the sign.");
  }
  caught(/** @type {any} */ d) {
    const { m } = this,
      inside = m.st.zones
        .filter((/** @type {any} */ z) => within([z.x + z.w / 2, z.y + z.h / 2], d.line))
        .map((/** @type {any} */ z) => z.id);
    m.marks.several = new Set([...(d.add ? m.marks.several : []), ...inside]);
    m.marks.paint();
    m.cards.paint();
    m.say(
      inside.length
        ? `${m.marks.several.size} chosen. Say beside the photograph what they are.`
        : "No mark lies within that line.",
    );
  }

  // --- keeping a change -------------------------------------------------------------------------
  keep(/** @type {string} */ id, /** @type {any} */ b) {
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
  newInMiddle() {
    const { m } = this,
      [w, h] = m.view.inside(),
      [sw, sh] = m.st.usual ?? [60 / m.view.k, 60 / m.view.k],
      c = m.view.pixel(w / 2, h / 2);
    const b = boxBetween([c[0] - sw / 2, c[1] - sh / 2], [c[0] + sw / 2, c[1] + sh / 2], m.st.width, m.st.height);
    m.ask("add_zone", { box: [b.x, b.y, b.w, b.h] });
  }

  // --- points ---------------------------------------------------------------------------------
  mark(/** @type {[number,number]} */ p) {
    const { m } = this,
      most = POINTS[m.mode];
    if (this.points.length === most) this.points = [];
    this.points.push([clamp(p[0], 0, m.st.width), clamp(p[1], 0, m.st.height)]);
    m.marks.tips();
    const full = this.points.length === most,
      given = this.points;
    if (m.mode === "square") {
      if (full) {
        this.setMode("hand");
        m.ask("square_up", { corners: given });
      } else m.say(`Now the corner that belongs ${CORNERS[given.length]}.`);
    } else if (m.mode === "sphere") {
      if (full) {
        this.setMode("hand");
        m.ask("sphere", { points: given });
      } else m.say("Now its opposite edge.");
    } else if (m.mode === "bend") {
      m.say(
        given.length < 2
          ? "Now further down the column."
          : `${given.length} points. Go on, or end with a double click, a right click or Enter.`,
      );
      m.cards.paint();
    } else {
      m.say(full ? "Now write how long that is, beside the photograph." : "Now the other end.");
      if (full) {
        m.cards.paint();
        m.side.querySelector("input[inputmode=decimal]")?.focus();
      }
    }
  }
  endBend() {
    const { m } = this,
      line = this.points.filter(
        (p, i) => !i || Math.hypot(p[0] - this.points[i - 1][0], p[1] - this.points[i - 1][1]) * m.view.k > 4,
      ); // a double click marks twice
    if (line.length < 2) {
      m.say("Click at least two points along the middle of the column first.");
      return;
    }
    const width = this.band;
    this.setMode("hand");
    m.ask("straighten", { line, width });
  }
  unmark() {
    this.points.pop();
    this.m.cards.paint();
    this.m.marks.tips();
  }
  /** What is under the hand and not yet kept, in screen pixels. */
  tips() {
    const { m, drag, points, cursor } = this,
      kids = /** @type {any[]} */ ([]),
      line = (/** @type {[number,number][]} */ ps) => ps.map((p) => m.view.at(p).join(",")).join(" ");
    if (drag?.kind === "draw" && drag.cur) {
      const r = m.view.screenBox(boxBetween(drag.p0, drag.cur, m.st.width, m.st.height));
      kids.push(s("rect", { class: "pb-new", x: r.x, y: r.y, width: r.w, height: r.h }));
    }
    if (drag?.kind === "lasso") kids.push(s("polygon", { class: "pb-new", points: line(drag.line) }));
    if (m.mode === "bend" && points.length)
      for (const side of [-1, 1])
        kids.push(
          s("polyline", {
            class: "pb-band",
            points: line(beside(cursor ? [...points, cursor] : points, (side * this.band) / 2)),
          }),
        );
    if (m.mode === "square" || m.mode === "bend")
      points.slice(1).forEach((p, i) => kids.push(...m.marks.rule(points[i], p, "pb-rule", "")));
    else if (points.length === 2) kids.push(...m.marks.rule(points[0], points[1], "pb-rule", ""));
    for (const p of points) {
      const [cx, cy] = m.view.at(p);
      kids.push(s("circle", { class: "pb-point", cx, cy, r: 6 }));
    }
    if (cursor && this.pointing) {
      const [x, y] = m.view.at(cursor);
      kids.push(s("path", { class: "pb-cross", d: `M${x - 16} ${y}h32M${x} ${y - 16}v32` }));
    }
    return kids;
  }

  // --- keys -----------------------------------------------------------------------------------
  key(/** @type {KeyboardEvent} */ e) {
    if (e.isComposing || e.ctrlKey || e.metaKey || /** @type {Element} */ (e.target).closest("input,select,button"))
      return;
    if (this.keyPoints(e) || this.keyZone(e) || this.keyView(e) || this.m.light.key(e)) e.preventDefault();
  }
  keyPoints(/** @type {KeyboardEvent} */ e) {
    if (!this.pointing) return false;
    const { m } = this,
      way = ARROWS[e.key];
    if (way) {
      const [w, h] = m.view.inside(),
        far = (e.shiftKey ? 40 : 4) / m.view.k;
      const from = this.cursor ?? m.view.pixel(w / 2, h / 2);
      this.cursor = [from[0] + way[0] * far, from[1] + way[1] * far];
      m.marks.tips();
    } else if (e.key === "Enter" && m.mode === "bend") this.endBend();
    else if (e.key === "Enter" || e.key === " ") {
      if (this.cursor) this.mark([...this.cursor]);
    } else if (e.key === "Backspace") this.unmark();
    else return false;
    return true;
  }
  keyZone(/** @type {KeyboardEvent} */ e) {
    const { m } = this,
      z = document.activeElement?.closest?.(".pb-zone") ? m.marks.chosen() : undefined,
      way = ARROWS[e.key],
      far = e.shiftKey ? 10 : 1;
    if (way && z && m.changing()) {
      const b = m.marks.box(z),
        d = [way[0] * far, way[1] * far],
        { width: W, height: H } = m.st;
      m.marks.local = {
        id: z.id,
        box: e.altKey
          ? { ...b, w: clamp(b.w + d[0], 3, W - b.x), h: clamp(b.h + d[1], 3, H - b.y) }
          : movedBox(b, d[0], d[1], W, H),
      };
      clearTimeout(this.nudge);
      this.nudge = window.setTimeout(() => this.finishNudge(), 700); // one revision for one run of presses
      m.marks.paint();
    } else if (e.key === "PageDown") this.step(1);
    else if (e.key === "PageUp") this.step(-1);
    else if (e.key === "Home" && m.st.zones[0]) {
      this.select(m.st.zones[0].id);
      this.step(0);
    } else if (!m.changing()) return false;
    else if ((e.key === "Delete" || e.key === "Backspace") && m.st.selected) {
      m.host.focus({ preventScroll: true });
      m.ask("delete_zone", { zone: m.st.selected });
    } else if (e.key === "n") this.newInMiddle();
    else if (e.key === "r" && m.marks.chosen()?.sure) m.cards.right();
    else if (e.key === "l") m.cards.lookNext();
    else if (e.key === "d") this.setMode("draw");
    else if (e.key === "o") this.setMode("lasso");
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
    else if (e.key === "h") this.setMode("hand");
    else if (e.key === "Escape") {
      if (m.mode !== "hand") this.setMode("hand");
      else if (m.marks.several.size) m.let();
      else this.select("");
      m.marks.local = null;
      m.host.focus({ preventScroll: true });
      m.marks.paint();
    } else return false;
    return true;
  }
}
