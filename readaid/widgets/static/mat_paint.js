// How the photograph is painted: one plane or two, its tiles, the whole piece small in a corner.
import { clamp } from "./geometry.js";

const NEAR = 1.8; // zoomed in more than this, the whole piece is shown small in a corner
/** @param {number[]} t @param {number[]} f */
const frameOn = (t, f) => [
  t[0] * f[0] + t[2] * f[1],
  t[1] * f[0] + t[3] * f[1],
  t[0] * f[2] + t[2] * f[3],
  t[1] * f[2] + t[3] * f[3],
  t[0] * f[4] + t[2] * f[5] + t[4],
  t[1] * f[4] + t[3] * f[5] + t[5],
];
/** @param {number[]} t @param {number} by */
const shifted = (t, by) => [t[0], t[1], t[2], t[3], t[4] + by, t[5]];

/** How the photograph is painted. */
export class Painter {
  /** @param {import("./mat_view.js").View} view */
  constructor(view) {
    this.view = view;
    this.m = view.m;
  }
  paint() {
    const [w, h] = this.view.mat(),
      d = window.devicePixelRatio || 1;
    if (!w) return;
    if (!this.view.fitted) {
      this.view.open();
      return;
    }
    const cw = Math.round(w * d),
      ch = Math.round(h * d);
    if (this.view.canvas.width !== cw || this.view.canvas.height !== ch) {
      this.view.canvas.width = cw;
      this.view.canvas.height = ch;
    }
    this.view.ctx.setTransform(1, 0, 0, 1, 0, 0);
    this.view.ctx.clearRect(0, 0, cw, ch);
    const need = /** @type {Map<number, number[][]>} */ (new Map()),
      main = this.view.main(),
      there = this.view.matrix(true, main);
    const other = this.view.how !== "one" ? this.view.other : null,
      at = this.view.how === "beside" ? w / 2 : w * this.view.cut;
    this.plane(this.view.ctx, main, there, [0, 0, other ? at : w, h], need);
    if (other)
      this.plane(
        this.view.ctx,
        other,
        shifted(frameOn(there, other.frame), this.view.how === "beside" ? w / 2 : 0),
        [at, 0, w - at, h],
        need,
      );
    for (const [layer, keys] of need) this.m.ask("tiles", { layer, keys });
    if (!need.size && !this.view.asked.size) this.view.former = -1;
    this.paintMini(main);
    this.m.root.dataset.waiting = String(this.view.asked.size);
    this.m.root.dataset.view = JSON.stringify({
      s: this.view.k,
      ox: this.view.ox,
      oy: this.view.oy,
      turn: this.view.turn,
    });
    this.m.painted();
  }
  /** One photograph into a part of the screen (x, y, w, h); tiles that lack are put into `need`.
   * @param {CanvasRenderingContext2D} ctx @param {import("./mat_view.js").Plane} p @param {number[]} t @param {number[]} part @param {Map<number, number[][]>|null} need */
  plane(ctx, p, t, part, need, d = window.devicePixelRatio || 1) {
    ctx.save();
    ctx.setTransform(d, 0, 0, d, 0, 0);
    ctx.beginPath();
    ctx.rect(part[0], part[1], part[2], part[3]);
    ctx.clip();
    ctx.setTransform(t[0] * d, t[1] * d, t[2] * d, t[3] * d, t[4] * d, t[5] * d);
    const s = Math.hypot(t[0], t[1]),
      overview = this.view.overviews.get(p.layer);
    ctx.imageSmoothingEnabled = s < 3;
    if (overview) {
      ctx.drawImage(overview, 0, 0, p.width, p.height);
      if (!this.view.stats.first) {
        this.view.stats.first = performance.now() - this.view.started;
        this.m.root.dataset.painted = "1";
      }
      if (s * d > (1.05 * overview.width) / p.width) this.paintTiles(ctx, p, t, part, s * d, need);
    }
    if (p.swap) {
      ctx.globalCompositeOperation = "difference";
      ctx.fillStyle = "#fff";
      ctx.fillRect(0, 0, p.width, p.height);
    }
    ctx.restore();
  }
  /** @param {CanvasRenderingContext2D} ctx @param {import("./mat_view.js").Plane} p @param {number[]} t @param {number[]} part @param {number} s @param {Map<number, number[][]>|null} need */
  paintTiles(ctx, p, t, part, s, need) {
    const T = this.m.st.tile,
      z = clamp(Math.floor(Math.log2(1 / s) + 0.01), 0, p.max_z),
      f = T * 2 ** z,
      det = t[0] * t[3] - t[1] * t[2] || 1;
    const ends = [
      [0, 0],
      [1, 0],
      [0, 1],
      [1, 1],
    ].map(([i, j]) => {
      const x = part[0] + i * part[2] - t[4],
        y = part[1] + j * part[3] - t[5];
      return [(t[3] * x - t[2] * y) / det, (t[0] * y - t[1] * x) / det];
    });
    const range = (/** @type {0|1} */ axis, /** @type {number} */ long) => {
      const v = ends.map((e) => e[axis]);
      return [
        Math.max(0, Math.floor(Math.min(...v) / f)),
        Math.min(Math.ceil(long / f) - 1, Math.floor(Math.max(...v) / f)),
      ];
    };
    const [x0, x1] = range(0, p.width),
      [y0, y1] = range(1, p.height);
    for (let y = y0; y <= y1; y++)
      for (let x = x0; x <= x1; x++) {
        const key = `${p.layer}:${z},${x},${y}`,
          mine = this.view.tiles.get(key),
          b = mine ?? (p.layer === this.view.layer ? this.view.tiles.get(`${this.view.former}:${z},${x},${y}`) : null);
        if (mine) {
          this.view.tiles.delete(key);
          this.view.tiles.set(key, mine);
        }
        if (b) ctx.drawImage(b, x * f, y * f, b.width * 2 ** z, b.height * 2 ** z);
        if (mine || !need || this.view.asked.has(key) || this.m.st.trouble) continue;
        if (!need.has(p.layer)) need.set(p.layer, []);
        need.get(p.layer)?.push([z, x, y]);
        this.view.asked.set(key, performance.now());
      }
  }
  /** The whole piece small in a corner while one is near. @param {import("./mat_view.js").Plane} p */
  paintMini(p) {
    const [w, h] = this.view.inside(),
      [W, H] = this.view.spread(),
      overview = this.view.overviews.get(p.layer);
    const near = Boolean(overview) && this.view.k > NEAR * Math.min(w / W, h / H);
    this.view.mini.hidden = !near;
    if (!near || !overview) return;
    const f = 120 / Math.max(W, H),
      ctx = /** @type {CanvasRenderingContext2D} */ (this.view.mini.getContext("2d"));
    this.view.mini.width = Math.round(W * f);
    this.view.mini.height = Math.round(H * f);
    ctx.save();
    const t = this.view.matrix(true, p),
      r = f / this.view.k;
    ctx.setTransform(t[0] * r, t[1] * r, t[2] * r, t[3] * r, (t[4] - this.view.ox) * r, (t[5] - this.view.oy) * r);
    ctx.drawImage(overview, 0, 0, p.width, p.height);
    ctx.restore();
    ctx.strokeStyle = "#fff";
    ctx.lineWidth = 1.5;
    ctx.strokeRect(
      (-this.view.ox / this.view.k) * f,
      (-this.view.oy / this.view.k) * f,
      (w / this.view.k) * f,
      (h / this.view.k) * f,
    );
  }
}
