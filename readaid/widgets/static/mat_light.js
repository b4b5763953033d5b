// Light on the mat: a tick for each lamp where it stood, the one before, two photographs at once, loupe, brightness.
import { clamp, localContrast } from "./geometry.js";
import { h, oneOf, refill } from "./kit.js";
import { Strip } from "./mat_strip.js";
import { Tone } from "./mat_tone.js";
import { heights, places, t } from "./texts.js";

const LOUPE = 230,
  NEARER = 2.6; // side of the loupe, and how much nearer it brings

const INSET = 13;

/** A photograph with its lamp. @typedef {import("./board_states.js").Companion & Partial<import("./board_states.js").PhotoRow>} Lamp */

/** Light on the mat. */
export class Light {
  /** @param {import("./photo_board.js").Board} m the board */
  constructor(m) {
    this.m = m;
    this.tone = new Tone(this);
    this.strips = new Strip(this);
    this.before = ""; // the photograph that lay on the mat before this one
    this.planes = /** @type {Map<string, import("./mat_view.js").Plane|null>} */ (new Map()); // photographs that are ready to be lit: their layer and size
    this.glass = false;
    this.seen = /** @type {PointerEvent|null} */ (null);
    this.ticks = h("div", { class: "pb-ticks", role: "radiogroup", "aria-label": t`Lamps` });
    this.sides = h("div", { class: "pb-surfaces" });
    this.line = h("div", { class: "pb-cut", hidden: true, title: t`Drag: the line between the two photographs` });
    this.loupe = h("canvas", {
      class: "pb-loupe",
      width: String(LOUPE),
      height: String(LOUPE),
      hidden: true,
      "aria-hidden": "true",
    });
    this.names = h("div", { class: "pb-names", hidden: true });
    m.host.append(this.line, this.names, this.sides, this.ticks, this.loupe);
    m.area.append(this.strips.looks, this.strips.strip);
  }
  /** @returns {Lamp[]} */
  lamps() {
    return this.m.st.companions.map((c) => ({ ...c, ...this.m.st.photos.find((p) => p.id === c.id) }));
  }
  /** A lamp in words. @param {Partial<Lamp>} p */
  word(p) {
    return (
      p.kind ||
      (p.side
        ? t`lamp at the ${places()[p.side] ?? p.side}, ${heights()[p.height ?? ""] ?? p.height}`
        : t`lamp not noted`)
    );
  }

  // --- which photograph -------------------------------------------------------------------------
  /** A photograph comes onto the mat; where its overview is here already, before Python has answered. */
  put(/** @type {string} */ id) {
    const { m } = this;
    if (!id || id === m.st.photo) return;
    const plane = this.planes.get(id),
      c = m.st.companions.find((x) => x.id === id);
    if (plane && c && plane.width === m.st.width && plane.height === m.st.height && !plane.flip && !m.st.flip) {
      m.view.lit = plane;
      m.view.draw();
    }
    m.ask("photo", { photo: id });
  }
  /** A photograph can be lit from now on. @param {import("./messages.js").Told["overview"]} x */
  ready(x) {
    const { photo, layer, width = 0, height = 0, max_z = 0 } = x,
      c = this.m.st.companions.find((p) => p.id === photo);
    if (!photo) return; // the whole of the one that lies there
    this.planes.set(photo, { layer, width, height, max_z, flip: Boolean(c?.flip), swap: Boolean(c?.swap) });
    if (this.m.view.how !== "one") this.two(this.m.view.how);
  }
  /** Photographs of this surface are made ready, so that a lamp is lit at once. */
  foresee() {
    for (const c of this.m.st.companions)
      if (c.id !== this.m.st.photo && !this.planes.has(c.id)) {
        this.planes.set(c.id, null);
        this.m.ask("plane", { photo: c.id });
      }
  }
  /** Another photograph lies there: what was there is the one before. @param {import("./board_states.js").PhotoBoardState} was */
  changed(was) {
    if (was.photo && was.photo !== this.m.st.photo) this.before = was.photo;
    this.m.view.lit = null;
    if (this.m.view.how !== "one") this.two(this.m.view.how);
    this.tone.lay();
  }
  back() {
    if (this.before) this.put(this.before);
    else this.m.say(t`No photograph lay here before this one.`);
  }
  /** One photograph, two across a line, two beside each other. */
  two(/** @type {string} */ how) {
    const { m } = this,
      lamps = this.lamps(),
      id = [this.before, ...lamps.map((l) => l.id)].find((x) => x && x !== m.st.photo && lamps.some((l) => l.id === x));
    const c = lamps.find((l) => l.id === id),
      plane = id && this.planes.get(id);
    m.view.how = how;
    m.view.other = how !== "one" && plane && c ? { ...plane, frame: c.frame } : null;
    if (how !== "one" && !c) {
      m.view.how = "one";
      m.say(t`There is no second photograph of this surface.`);
    } else if (how !== "one" && c && !plane) {
      this.planes.set(c.id, null);
      m.ask("plane", { photo: c.id });
    }
    if (m.view.whole) m.view.fit();
    else m.view.moved();
    this.place();
    this.paint();
  }
  /** The line and the two names where they belong. */
  place() {
    const { m } = this,
      on = m.view.how !== "one" && Boolean(m.view.other),
      at = m.view.how === "beside" ? 0.5 : m.view.cut;
    this.line.hidden = !on;
    this.line.style.left = `${at * 100}%`;
    this.line.classList.toggle("pb-still", m.view.how === "beside");
    this.names.hidden = !on;
    if (!on) return;
    const lamps = this.lamps(),
      named = (/** @type {Lamp|undefined} */ p) => this.word(p ?? {});
    this.names.style.left = `${at * 100}%`;
    refill(
      this.names,
      [
        lamps.find((l) => l.id === m.st.photo),
        lamps.find((l) => m.view.other && this.planes.get(l.id)?.layer === m.view.other.layer),
      ].map((l) => h("span", {}, h("b", { text: named(l) }))),
    );
  }

  // --- ticks ------------------------------------------------------------------------------------
  paint() {
    this.paintTicks();
    this.paintSurfaces();
    this.strips.paintStrip();
    this.strips.paintLooks();
  }
  paintTicks() {
    const { m } = this,
      lamps = this.lamps(),
      w = m.view.mat()[0],
      hh = m.view.mat()[1] - 30;
    let row = 0;
    refill(
      this.ticks,
      lamps.length < 2
        ? []
        : lamps.map((p, i) => {
            const on = p.id === m.st.photo,
              known = p.azimuth !== null && p.azimuth !== undefined,
              turn = ((p.azimuth ?? 0) + m.view.turn * 90) * (Math.PI / 180);
            const [dx, dy] = [Math.cos(turn), Math.sin(turn)],
              far = Math.min(
                (w / 2 - INSET) / Math.max(Math.abs(dx), 1e-6),
                (hh / 2 - INSET) / Math.max(Math.abs(dy), 1e-6),
              );
            const at = known ? [w / 2 + dx * far, hh / 2 + dy * far] : [16 + 30 * row++, hh - 14];
            return h(
              "button",
              {
                type: "button",
                role: "radio",
                class: `pb-lamp ${known ? "" : "pb-nolamp"}`,
                "aria-checked": String(on),
                tabindex: on ? "0" : "-1",
                "data-key": `lamp-${p.id}`,
                "data-photo": p.id,
                style: `left:${at[0]}px;top:${at[1]}px;--turn:${known ? Math.atan2(dy, dx) : 0}rad;--long:${known ? 10 + (90 - clamp(p.elevation ?? 20, 0, 90)) / 6 : 8}px`,
                title: `${this.word(p)}${i < 9 ? ` (${i + 1})` : ""}; ${p.title}`,
                "aria-label": `${i + 1}: ${this.word(p)}, ${p.title}`,
                onclick: () => this.put(p.id),
              },
              h("span", { class: "pb-stroke" }),
              h("span", { class: "pb-key", text: i < 9 ? String(i + 1) : "" }),
            );
          }),
    );
  }
  paintSurfaces() {
    const { m } = this,
      first = new Map();
    for (const p of m.st.photos) {
      const name = p.surface || p.title;
      if (!first.has(name) || p.id === m.st.photo) first.set(name, p);
    }
    const here = m.st.photos.find((p) => p.id === m.st.photo);
    this.sides.hidden = first.size < 2;
    refill(
      this.sides,
      first.size < 2
        ? []
        : oneOf(
            t`Surface`,
            [...first].map(([name, p]) => [p.id, name]),
            here?.id ?? "",
            (id) => this.put(id),
            "surface",
          ),
    );
  }
  zoom = h("span", { class: "pb-zoom", "aria-label": t`Zoom` });

  // --- the loupe --------------------------------------------------------------------------------
  glassOn() {
    this.glass = !this.glass;
    this.m.say(this.glass ? t`Loupe: move the pointer over the photograph.` : "", "quiet");
    this.strips.paintStrip();
    if (!this.glass) this.away();
  }
  away() {
    this.loupe.hidden = true;
  }
  /** The pointer moves: the loupe goes with it. @param {PointerEvent} e */
  under(e) {
    if (!this.glass || this.m.hand.drag) {
      this.away();
      return;
    }
    const { view } = this.m,
      r = view.size(),
      x = e.clientX - r.left,
      y = e.clientY - r.top,
      f = NEARER,
      turn = view.matrix(true, view.main());
    const ctx = /** @type {CanvasRenderingContext2D} */ (this.loupe.getContext("2d", { willReadFrequently: true }));
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.fillStyle = "#4b4b4a";
    ctx.fillRect(0, 0, LOUPE, LOUPE);
    view.painter.plane(
      ctx,
      view.main(),
      [
        turn[0] * f,
        turn[1] * f,
        turn[2] * f,
        turn[3] * f,
        (turn[4] - x) * f + LOUPE / 2,
        (turn[5] - y) * f + LOUPE / 2,
      ],
      [0, 0, LOUPE, LOUPE],
      null,
      1,
    );
    const data = ctx.getImageData(0, 0, LOUPE, LOUPE);
    localContrast(data.data, LOUPE, LOUPE, 22);
    ctx.putImageData(data, 0, 0);
    this.loupe.hidden = false;
    this.loupe.style.left = `${x - LOUPE / 2}px`;
    this.loupe.style.top = `${y - LOUPE / 2}px`;
  }

  // --- keys -------------------------------------------------------------------------------------
  /** @param {KeyboardEvent} e @returns {boolean} */
  key(e) {
    const n = Number(e.code?.startsWith("Digit") ? e.code.slice(5) : NaN);
    if (n >= 1) {
      const l = this.lamps()[n - 1];
      if (l) this.put(l.id);
      return Boolean(l);
    }
    if (e.key === " ") this.back();
    else if (e.key === "g") this.glassOn();
    else if (e.key === "t") {
      this.m.view.quarter(e.shiftKey ? -1 : 1);
      this.paint();
    } else if (e.key === "m") this.m.marks.toggle();
    else if (e.key === "/") this.two(this.m.view.how === "line" ? "one" : "line");
    else if (e.key === "\\") this.two(this.m.view.how === "beside" ? "one" : "beside");
    else if (e.key === "[" || e.key === "]") {
      const now = this.tone.now().bright;
      this.tone.set({ bright: clamp(now + (e.key === "]" ? 0.15 : -0.15), 0.4, 2.6) });
      this.strips.paintStrip();
    } else return false;
    return true;
  }
}
