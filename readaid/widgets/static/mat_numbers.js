// Numbers of the marks: as near their signs as there is room, never on writing or on one another; what stands further
// out is tied to its sign by a line that leaves where there is no writing. Boxes are screen pixels.
import { unturned } from "./geometry.js";
import { s } from "./kit.js";

/** @typedef {{x:number,y:number,w:number,h:number}} Box */
/** @typedef {[[number, number], [number, number]]} Line */
/** A place of a number: whether a line ties it to its sign, and whether that line could not but run over writing.
 * @typedef {Box & {tied: boolean, over: boolean}} Place */
const GAP = 4, // between a sign and its number: the tick stands there
  STEPS = 14, // how many of its own sizes a number may stand away
  FURTHER = 2, // how many more, where a line from nearer by would run over writing
  HIGH = 12,
  WIDE = 6.8, // of one figure in 12 px
  CELL = 64,
  EDGE = 0.5, // a line along the edge of a box is not over it
  NEAR = 120,
  UPRIGHT = [
    [1, 0],
    [0, -1],
    [-1, 0],
    [0, 1],
  ]; // cosine and sine of the way back from each quarter turn

/** How much of a line lies within a box, in its own length; edges are not within. @param {Line} line @param {Box} b */
export function within(line, b) {
  const [[x, y], [x2, y2]] = line,
    [dx, dy] = [x2 - x, y2 - y];
  let [from, to] = [0, 1];
  for (const [at, by, low, high] of [
    [x, dx, b.x + EDGE, b.x + b.w - EDGE],
    [y, dy, b.y + EDGE, b.y + b.h - EDGE],
  ]) {
    if (!by && (at <= low || at >= high)) return 0;
    if (!by) continue;
    const ends = [(low - at) / by, (high - at) / by];
    from = Math.max(from, Math.min(...ends));
    to = Math.min(to, Math.max(...ends));
  }
  return Math.max(0, to - from) * Math.hypot(dx, dy);
}

/** The box about a line. @param {Line} line @returns {Box & {line: Line}} */
const about = (line) => {
  const [[x1, y1], [x2, y2]] = line;
  return { x: Math.min(x1, x2), y: Math.min(y1, y2), w: Math.abs(x2 - x1), h: Math.abs(y2 - y1), line };
};

/** Boxes known by where they lie, so that a thousand are not asked one by one. */
class Ground {
  /** @param {number} cell side of a cell: about that of the boxes, or near by one box lies in thousands */
  constructor(cell) {
    this.cell = cell;
    this.cells = /** @type {Map<string, (Box & {line?: Line})[]>} */ (new Map());
  }
  /** @param {Box} b @returns {string[]} */
  at(b) {
    const keys = [];
    const { cell } = this;
    for (let i = Math.floor(b.x / cell); i <= Math.floor((b.x + b.w) / cell); i++)
      for (let j = Math.floor(b.y / cell); j <= Math.floor((b.y + b.h) / cell); j++) keys.push(`${i} ${j}`);
    return keys;
  }
  /** @param {Box & {line?: Line}} b */
  add(b) {
    for (const key of this.at(b)) {
      const there = this.cells.get(key);
      if (there) there.push(b);
      else this.cells.set(key, [b]);
    }
  }
  /** @param {Box} b */
  free(b) {
    const meets = (/** @type {Box & {line?: Line}} */ o) =>
      o.line ? within(o.line, b) > 0 : b.x < o.x + o.w && o.x < b.x + b.w && b.y < o.y + o.h && o.y < b.y + b.h;
    return !this.at(b).some((key) => this.cells.get(key)?.some(meets));
  }
  /** Whether a line runs over no box. @param {Line} line */
  clear(line) {
    const over = (/** @type {Box & {line?: Line}} */ o) => !o.line && within(line, o) > 0;
    return !this.at(about(line)).some((key) => this.cells.get(key)?.some(over));
  }
}

/** Places beside a sign, `n` of its number's sizes out: at the right, where the tick is, at the left, below, above.
 * @param {Box} b @param {number} w @param {number} h @param {number} n @returns {[number, number][]} */
function beside(b, w, h, n) {
  const downs = [b.y, b.y + (b.h - h) / 2, b.y + b.h - h],
    acrosses = [b.x + b.w - w, b.x + (b.w - w) / 2, b.x],
    out = n * (w + GAP),
    off = n * (h + GAP);
  return [
    ...downs.map((y) => /** @type {[number, number]} */ ([b.x + b.w + GAP + out, y])),
    ...downs.map((y) => /** @type {[number, number]} */ ([b.x - GAP - w - out, y])),
    ...acrosses.map((x) => /** @type {[number, number]} */ ([x, b.y + b.h + GAP + off])),
    ...acrosses.map((x) => /** @type {[number, number]} */ ([x, b.y - GAP - h - off])),
  ];
}

/** The place for one number: the nearest from which a line reaches its sign without running over writing, else the
 * nearest. @param {Ground} ground @param {Box} b @param {string} label @returns {Place|null} */
function placeBeside(ground, b, label) {
  const w = label.length * WIDE;
  /** @type {Place|null} */ let nearest = null;
  for (let n = 0, last = STEPS; n < last; n++)
    for (const [x, y] of beside(b, w, HIGH, n)) {
      const place = { x, y, w, h: HIGH, tied: n > 0 || x < b.x + b.w, over: false }; // only beside its tick it needs no line
      if (!ground.free(place)) continue;
      if (!place.tied || ground.clear(tie(place, b))) return place;
      if (!nearest) last = Math.min(STEPS, n + 1 + FURTHER);
      nearest ??= { ...place, over: true };
    }
  return nearest;
}

/** A place for the number of each sign, null where there is none or it has no number.
 * @param {Box[]} boxes @param {string[]} labels @returns {(Place|null)[]} */
export function numberPlaces(boxes, labels) {
  const ground = new Ground(Math.max(CELL, ...boxes.map((b) => Math.max(b.w, b.h) / 2)));
  for (const b of boxes) ground.add(b);
  return boxes.map((b, i) => {
    const place = labels[i] ? placeBeside(ground, b, labels[i]) : null;
    if (!place) return null;
    ground.add(place);
    if (place.tied && !place.over) ground.add(about(tie(place, b)));
    return place;
  });
}

/** The two ends of the line from a number to its sign: the nearest points of both.
 * @param {Box} a @param {Box} b @returns {Line} */
export function tie(a, b) {
  const near = (
    /** @type {number} */ a0,
    /** @type {number} */ a1,
    /** @type {number} */ b0,
    /** @type {number} */ b1,
  ) =>
    a1 < b0
      ? [a1, b0]
      : b1 < a0
        ? [a0, b1]
        : [(Math.max(a0, b0) + Math.min(a1, b1)) / 2, (Math.max(a0, b0) + Math.min(a1, b1)) / 2];
  const [x1, x2] = near(a.x, a.x + a.w, b.x, b.x + b.w),
    [y1, y2] = near(a.y, a.y + a.h, b.y, b.y + b.h);
  return [
    [x1, y1],
    [x2, y2],
  ];
}

/** The numbers of the marks on the photograph. */
export class Numbers {
  /** @param {import("./mat_marks.js").Marks} marks */
  constructor(marks) {
    this.marks = marks;
    this.laid = ""; // for which zoom and turn
  }
  /** Marks were made anew: their numbers are to be laid again. */
  forget() {
    this.laid = "";
  }
  /** Lay them for this zoom; moving the photograph moves them along. */
  lay() {
    const { m, rows } = this.marks,
      { view, st } = m,
      key = `${view.k} ${view.turn}`;
    if (key === this.laid) return;
    this.laid = key;
    const boxes = st.zones.map((z) => view.screenBox(this.marks.box(z))),
      places = numberPlaces(
        boxes,
        st.zones.map((z) => this.marks.numbered(z)),
      );
    st.zones.forEach((z, i) => {
      const g = rows.get(z.id)?.g,
        text = g?.querySelector(".pb-label");
      if (g && text) this.put(g, text, places[i], boxes[i]);
    });
  }
  /** The number of the chosen sign alone, off its grips and its neighbours. @param {import("./mat_marks.js").Zone} z @param {Box} r */
  alone(z, r) {
    const { m } = this.marks,
      label = this.marks.numbered(z),
      ring = { x: r.x - 5, y: r.y - 5, w: r.w + 10, h: r.h + 10 },
      reach = { x: ring.x - NEAR, y: ring.y - NEAR, w: ring.w + 2 * NEAR, h: ring.h + 2 * NEAR },
      a = m.view.pixel(reach.x, reach.y),
      b = m.view.pixel(reach.x + reach.w, reach.y + reach.h),
      [left, right] = [Math.min(a[0], b[0]), Math.max(a[0], b[0])],
      [top, foot] = [Math.min(a[1], b[1]), Math.max(a[1], b[1])],
      near = m.st.zones.filter(
        (o) => o.id !== z.id && o.x < right && left < o.x + o.w && o.y < foot && top < o.y + o.h,
      ), // asked at every movement of the photograph: only what is about is looked at
      boxes = near.map((o) => m.view.screenBox(o)),
      place = numberPlaces([ring, ...boxes], [label, ...near.map(() => "")])[0];
    if (!place) return [];
    const [[x1, y1], [x2, y2]] = tie(place, ring);
    const number = s("text", { class: "pb-number", x: place.x, y: place.y + HIGH - 1, lang: "ja", text: label });
    return place.tied ? [s("line", { class: "pb-tie", x1, y1, x2, y2 }), number] : [number];
  }
  /** @param {Element} g @param {Element} text @param {Place|null} place @param {Box} box */
  put(g, text, place, box) {
    const { view, st } = this.marks.m;
    const home = (/** @type {number[]} */ [x, y]) =>
      unturned([(x - view.ox) / view.k, (y - view.oy) / view.k], view.turn, st.width, st.height);
    g.querySelector(".pb-tie")?.remove();
    text.toggleAttribute("data-nowhere", !place);
    if (!place) return;
    const [x, y] = home([place.x, place.y + HIGH - 2]);
    text.setAttribute("x", String(x));
    text.setAttribute("y", String(y));
    const [c, n] = UPRIGHT[view.turn]; // numbers stand upright on a photograph that was turned
    text.setAttribute("transform", `matrix(${[c, n, -n, c, x - c * x + n * y, y - n * x - c * y].join(" ")})`);
    if (!place.tied) return;
    const [[x1, y1], [x2, y2]] = tie(place, box).map(home);
    g.insertBefore(s("line", { class: place.over ? "pb-tie pb-tie-over" : "pb-tie", x1, y1, x2, y2 }), text);
  }
}
