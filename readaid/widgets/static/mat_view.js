// Where the photograph lies on its mat and how it is painted: zoom, quarter turns, tiles, a second photograph beside it.
// Pixels are full-size image pixels of the picture as it is read; a plane is one photograph in one look.
import { clamp, through, turned, unturned } from "./geometry.js";
import { Painter } from "./mat_paint.js";
import { Tiles } from "./mat_tiles.js";
import { t } from "./texts.js";

/** @typedef {{width: number, height: number}} Size */
/** @typedef {{layer:number, width:number, height:number, max_z:number, flip:boolean, swap:boolean}} Plane */

const RIM = 24; // of the mat beside a sign at the photograph's edge: its ring and number stand there
const SLIVER = 0.3; // a photograph that would fill less of the mat than this is not shown whole at first

/** Where a photograph begins, so that it fills the mat where it can and stands in the middle where it cannot.
 * @param {number} at where it would begin @param {number} room of the mat @param {number} long of the photograph */
export const covering = (at, room, long) =>
  long + 2 * RIM <= room
    ? (room - long) / 2
    : clamp(at, Math.min(RIM, room - long - RIM), Math.max(RIM, room - long - RIM));

/** Where the photograph lies on its mat. */
export class View {
  /** @param {import("./photo_board.js").Board} m the board @param {HTMLElement} host @param {HTMLCanvasElement} canvas @param {HTMLCanvasElement} mini */
  constructor(m, host, canvas, mini) {
    this.m = m;
    this.host = host;
    this.canvas = canvas;
    this.mini = mini;
    this.store = new Tiles(this);
    this.painter = new Painter(this);
    this.ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    this.k = 1;
    this.ox = 0;
    this.oy = 0;
    this.turn = 0; // screen = turned image * k + o
    this.fitted = false;
    this.whole = true;
    this.raf = 0;
    this.layer = -1;
    this.former = -1; // tiles of the former look stand in while a slider moves
    /** @type {Plane|null} */ this.lit = null; // a lamp lit by the hand, shown before Python has answered
    /** @type {(Plane & {frame:number[]})|null} */ this.other = null;
    this.room = /** @type {[number, number]} */ ([0, 0]); // of the mat: asking the browser lays the page out at once
    this.how = "one";
    this.cut = 0.5; // one | line | beside, and where the line stands
    this.tiles = /** @type {Map<string, ImageBitmap>} */ (new Map());
    this.asked = /** @type {Map<string, number>} */ (new Map());
    this.overviews = /** @type {Map<number, ImageBitmap>} */ (new Map());
    this.stats = {
      first: 0,
      tiles: 0,
      bytes: 0,
      waits: /** @type {number[]} */ ([]),
      frames: /** @type {number[]} */ ([]),
    };
    this.started = performance.now();
  }

  // --- where it lies ----------------------------------------------------------------------
  size() {
    return this.host.getBoundingClientRect();
  }
  /** Ask how large the mat is. */
  measure() {
    this.room = /** @type {[number, number]} */ ([this.host.clientWidth, this.host.clientHeight]);
  }
  /** Width and height of the mat. */
  mat() {
    if (!this.room[0] || !this.room[1]) this.measure();
    return this.room;
  }
  /** Width and height a photograph has to itself. */
  inside() {
    const [w, h] = this.mat();
    return /** @type {[number, number]} */ (this.how === "beside" && this.other ? [w / 2, h] : [w, h]);
  }
  draw() {
    if (!this.raf)
      this.raf = requestAnimationFrame(() => {
        this.raf = 0;
        this.painter.paint();
      });
  }
  /** Width and height of the photograph as it is turned. */
  spread() {
    const { width, height } = this.m.st;
    return this.turn % 2 ? [height, width] : [width, height];
  }
  /** The way from pixels (of the file where `file`, else as read) to the screen. */
  matrix(file = false, plane = /** @type {Size & Partial<Plane>} */ (this.m.st)) {
    const { k, ox, oy } = this,
      { width: W, height: H } = this.m.st;
    let turn = [
      [k, 0, 0, k, ox, oy],
      [0, k, -k, 0, k * H + ox, oy],
      [-k, 0, 0, -k, k * W + ox, k * H + oy],
      [0, -k, k, 0, ox, k * W + oy],
    ][this.turn];
    if (file && plane.flip) turn = [-turn[0], -turn[1], turn[2], turn[3], turn[4] + turn[0] * W, turn[5] + turn[1] * W];
    return turn;
  }
  at(/** @type {number[]} */ p) {
    return through(this.matrix(), p);
  }
  /** The pixel under a place of the screen. @param {{clientX:number, clientY:number}} e @returns {[number,number]} */
  toImage(e) {
    const r = this.size();
    return this.pixel(e.clientX - r.left - this.host.clientLeft, e.clientY - r.top - this.host.clientTop);
  }
  /** @returns {[number,number]} */
  pixel(/** @type {number} */ x, /** @type {number} */ y) {
    const half = this.mat()[0] / 2;
    if (this.how === "beside" && this.other && x > half) x -= half;
    return unturned([(x - this.ox) / this.k, (y - this.oy) / this.k], this.turn, this.m.st.width, this.m.st.height);
  }
  /** A box of pixels on the screen. */
  screenBox(/** @type {{x:number,y:number,w:number,h:number}} */ b) {
    const [x0, y0] = this.at([b.x, b.y]),
      [x1, y1] = this.at([b.x + b.w, b.y + b.h]);
    return { x: Math.min(x0, x1), y: Math.min(y0, y1), w: Math.abs(x1 - x0), h: Math.abs(y1 - y0) };
  }
  moved() {
    this.m.marks.lie();
    this.draw();
  }
  fit() {
    const [w, h] = this.inside(),
      [W, H] = this.spread();
    if (!w || !W) return;
    this.k = Math.min(w / W, h / H);
    this.ox = (w - W * this.k) / 2;
    this.oy = (h - H * this.k) / 2;
    this.fitted = this.whole = true;
    this.moved();
  }
  zoomAt(/** @type {number} */ f, /** @type {number} */ cx, /** @type {number} */ cy) {
    const [w, h] = this.inside(),
      [W, H] = this.spread(),
      half = this.mat()[0] / 2;
    if (this.how === "beside" && this.other && cx > half) cx -= half;
    this.whole = false;
    const n = clamp(this.k * f, Math.min(w / W, h / H) * 0.5, 12);
    this.ox = cx - ((cx - this.ox) * n) / this.k;
    this.oy = cy - ((cy - this.oy) * n) / this.k;
    this.k = n;
    this.moved();
  }
  /** Lay the boxes into the middle, as large as `most` lets them be. @param {import("./mat_marks.js").Box[]} boxes @param {number} most */
  near(boxes, most, share = 0.9) {
    if (!boxes.length) return;
    const [w, h] = this.inside(),
      { width, height } = this.m.st;
    const ends = boxes.flatMap((b) => [
      turned([b.x, b.y], this.turn, width, height),
      turned([b.x + b.w, b.y + b.h], this.turn, width, height),
    ]);
    const xs = ends.map((p) => p[0]),
      ys = ends.map((p) => p[1]);
    const x0 = Math.min(...xs),
      x1 = Math.max(...xs),
      y0 = Math.min(...ys),
      y1 = Math.max(...ys);
    this.whole = false;
    this.fitted = true;
    this.k = clamp(Math.min((w * share) / (x1 - x0 || 1), (h * share) / (y1 - y0 || 1)), 0.01, most);
    this.ox = w / 2 - ((x0 + x1) / 2) * this.k;
    this.oy = h / 2 - ((y0 + y1) / 2) * this.k;
    this.moved();
  }
  /** Where signs are read and not looked for, the writing counts and not the whole photograph. */
  fitZones() {
    const was = this.k,
      zones = this.m.st.zones.filter((z) => !z.body);
    if (!zones.length) return;
    const { ox, oy } = this;
    this.near(zones, 4, 0.92);
    if (this.k < was * 1.15) Object.assign(this, { k: was, ox, oy, whole: true }); // the writing fills the photograph already
    this.moved();
  }
  /** The first look: the whole, the writing where signs are read, and never a sliver. */
  open() {
    this.fit();
    if (["reading", "school", "report"].includes(this.m.st.stage)) this.fitZones();
    const [w, h] = this.inside(),
      [W, H] = this.spread(),
      sw = W * this.k,
      sh = H * this.k;
    if (!W || Math.min(sw / w, sh / h) > SLIVER) return;
    const tall = sw / w < sh / h;
    this.whole = false;
    if (tall) {
      this.k = Math.min(w / W, 4);
      this.ox = (w - W * this.k) / 2;
      this.oy = 0;
    } else {
      this.k = Math.min(h / H, 4);
      this.ox = w - W * this.k;
      this.oy = (h - H * this.k) / 2;
    }
    this.m.say(
      tall
        ? t`A very tall photograph: its upper part is shown. Drag it or use the arrow keys for the rest; 0 shows the whole.`
        : t`A very wide photograph: its right-hand part is shown. Drag it or use the arrow keys for the rest; 0 shows the whole.`,
    );
    this.moved();
  }
  /** Zoom about the chosen sign where it is in sight, or full size on a large photograph loses it. */
  middle(/** @type {number} */ f) {
    const [w, h] = this.inside(),
      z = this.m.marks.chosen(),
      b = z && this.screenBox(z);
    const seen = b && b.x + b.w / 2 > 0 && b.y + b.h / 2 > 0 && b.x + b.w / 2 < w && b.y + b.h / 2 < h;
    if (b && seen) this.zoomAt(f, b.x + b.w / 2, b.y + b.h / 2);
    else this.zoomAt(f, w / 2, h / 2);
  }
  /** Bring a sign into sight without changing the zoom more than needed. */
  showZone(/** @type {string} */ id) {
    const z = this.m.marks.find(id);
    if (!z) return;
    const [w, h] = this.inside(),
      b = this.screenBox(z),
      n = Math.min(4, 72 / Math.max(z.w, z.h, 1));
    const small = Math.max(b.w, b.h) < 26 && n > this.k; // 13 px of a sign cannot be judged
    if (!small && b.x > 10 && b.y > 10 && b.x + b.w < w - 10 && b.y + b.h < h - 10) return;
    if (small) this.k = n;
    this.whole = false;
    const [cx, cy] = turned([z.x + z.w / 2, z.y + z.h / 2], this.turn, this.m.st.width, this.m.st.height),
      [W, H] = this.spread();
    this.ox = covering(w / 2 - cx * this.k, w, W * this.k);
    this.oy = covering(h / 2 - cy * this.k, h, H * this.k);
    this.moved();
  }
  quarter(by = 1) {
    const [w, h] = this.inside(),
      middle = this.pixel(w / 2, h / 2),
      whole = this.whole;
    this.turn = (this.turn + by + 4) % 4;
    if (whole) {
      this.fit();
      return;
    }
    const [cx, cy] = turned(middle, this.turn, this.m.st.width, this.m.st.height);
    this.ox = w / 2 - cx * this.k;
    this.oy = h / 2 - cy * this.k;
    this.moved();
  }
  /** Another photograph comes onto the mat: what lies in the middle stays there. `frame` leads from its pixels to those of
   * the one that lay there, null where nothing tells. @param {number[]|null} frame @param {import("./board_states.js").PhotoBoardState} was the state that was left */
  follow(frame, was) {
    const now = this.m.st;
    if (!frame || !this.fitted || this.whole) {
      const open = this.fitted && this.whole && frame;
      if (open) this.fit();
      else this.fitted = false;
      return;
    }
    const [w, h] = this.inside(),
      size = Math.hypot(frame[0], frame[1]) || 1;
    const there = unturned([(w / 2 - this.ox) / this.k, (h / 2 - this.oy) / this.k], this.turn, was.width, was.height);
    const file = was.flip ? [was.width - there[0], there[1]] : there;
    const [a, b, c, d, e, f] = frame,
      det = a * d - b * c || 1,
      x = file[0] - e,
      y = file[1] - f;
    const here = [(d * x - c * y) / det, (a * y - b * x) / det];
    const read = now.flip ? [now.width - here[0], here[1]] : here;
    this.k *= size;
    const [cx, cy] = turned(read, this.turn, now.width, now.height);
    this.ox = w / 2 - cx * this.k;
    this.oy = h / 2 - cy * this.k;
    this.moved();
  }

  // --- painting -----------------------------------------------------------------------------
  /** @returns {Plane} */
  main() {
    const { st } = this.m;
    return this.lit ?? { ...st, layer: this.layer, flip: Boolean(st.flip), swap: Boolean(st.swap) };
  }
}
