// Where the photograph lies on its mat and how it is painted: zoom, quarter turns, tiles, a second photograph beside it.
// Pixels are full-size image pixels of the picture as it is read; a plane is one photograph in one look.
import { clamp, through, turned, unturned } from "./geometry.js";

/** @typedef {{layer:number, width:number, height:number, max_z:number, flip:boolean, swap:boolean}} Plane */
const KEEP = 220; // bitmaps of 512 px held in the browser: 220 MB at most
const OVERVIEWS = 14;
const SLIVER = 0.3; // a photograph that would fill less of the mat than this is not shown whole at first
const NEAR = 1.8; // zoomed in more than this, the whole piece is shown small in a corner

export class View {
  /** @param {any} m the board @param {HTMLElement} host @param {HTMLCanvasElement} canvas @param {HTMLCanvasElement} mini */
  constructor(m, host, canvas, mini) {
    Object.assign(this, { m, host, canvas, mini });
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
  /** Width and height a photograph has to itself. */
  inside() {
    const w = this.host.clientWidth,
      h = this.host.clientHeight;
    return this.how === "beside" && this.other ? [w / 2, h] : [w, h];
  }
  draw() {
    if (!this.raf)
      this.raf = requestAnimationFrame(() => {
        this.raf = 0;
        this.paint();
      });
  }
  /** Width and height of the photograph as it is turned. */
  spread() {
    const { width, height } = this.m.st;
    return this.turn % 2 ? [height, width] : [width, height];
  }
  /** The way from pixels (of the file where `file`, else as read) to the screen. */
  matrix(file = false, plane = this.m.st) {
    const { k, ox, oy } = this,
      { width: W, height: H } = this.m.st;
    let t = [
      [k, 0, 0, k, ox, oy],
      [0, k, -k, 0, k * H + ox, oy],
      [-k, 0, 0, -k, k * W + ox, k * H + oy],
      [0, -k, k, 0, ox, k * W + oy],
    ][this.turn];
    if (file && plane.flip) t = [-t[0], -t[1], t[2], t[3], t[4] + t[0] * W, t[5] + t[1] * W];
    return t;
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
    const half = this.host.clientWidth / 2;
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
      half = this.host.clientWidth / 2;
    if (this.how === "beside" && this.other && cx > half) cx -= half;
    this.whole = false;
    const n = clamp(this.k * f, Math.min(w / W, h / H) * 0.5, 12);
    this.ox = cx - ((cx - this.ox) * n) / this.k;
    this.oy = cy - ((cy - this.oy) * n) / this.k;
    this.k = n;
    this.moved();
  }
  /** Lay the boxes into the middle, as large as `most` lets them be. @param {any[]} boxes @param {number} most */
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
      zones = this.m.st.zones.filter((/** @type {any} */ z) => !z.body);
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
      `A very ${tall ? "tall" : "wide"} photograph: its ${tall ? "upper" : "right-hand"} part is shown. Drag it or use the arrow keys for the rest; 0 shows the whole.`,
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
    const [cx, cy] = turned([z.x + z.w / 2, z.y + z.h / 2], this.turn, this.m.st.width, this.m.st.height);
    this.ox = w / 2 - cx * this.k;
    this.oy = h / 2 - cy * this.k;
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
   * the one that lay there, null where nothing tells. @param {number[]|null} frame @param {any} was the state that was left */
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
    return this.lit ?? { ...this.m.st, layer: this.layer };
  }
  paint() {
    const w = this.host.clientWidth,
      h = this.host.clientHeight,
      d = window.devicePixelRatio || 1;
    if (!w) return;
    if (!this.fitted) {
      this.open();
      return;
    }
    const cw = Math.round(w * d),
      ch = Math.round(h * d);
    if (this.canvas.width !== cw || this.canvas.height !== ch) {
      this.canvas.width = cw;
      this.canvas.height = ch;
    }
    this.ctx.setTransform(1, 0, 0, 1, 0, 0);
    this.ctx.clearRect(0, 0, cw, ch);
    const need = /** @type {Map<number, number[][]>} */ (new Map()),
      main = this.main(),
      there = this.matrix(true, main);
    const other = this.how !== "one" ? this.other : null,
      at = this.how === "beside" ? w / 2 : w * this.cut;
    this.plane(this.ctx, main, there, [0, 0, other ? at : w, h], need);
    if (other)
      this.plane(
        this.ctx,
        other,
        shifted(frameOn(there, other.frame), this.how === "beside" ? w / 2 : 0),
        [at, 0, w - at, h],
        need,
      );
    for (const [layer, keys] of need) this.m.ask("tiles", { layer, keys });
    if (!need.size && !this.asked.size) this.former = -1;
    this.paintMini(main);
    this.m.root.dataset.waiting = String(this.asked.size);
    this.m.root.dataset.view = JSON.stringify({ s: this.k, ox: this.ox, oy: this.oy, turn: this.turn });
    this.m.painted();
  }
  /** One photograph into a part of the screen (x, y, w, h); tiles that lack are put into `need`.
   * @param {CanvasRenderingContext2D} ctx @param {Plane} p @param {number[]} t @param {number[]} part @param {Map<number, number[][]>|null} need */
  plane(ctx, p, t, part, need, d = window.devicePixelRatio || 1) {
    ctx.save();
    ctx.setTransform(d, 0, 0, d, 0, 0);
    ctx.beginPath();
    ctx.rect(part[0], part[1], part[2], part[3]);
    ctx.clip();
    ctx.setTransform(t[0] * d, t[1] * d, t[2] * d, t[3] * d, t[4] * d, t[5] * d);
    const s = Math.hypot(t[0], t[1]),
      overview = this.overviews.get(p.layer);
    ctx.imageSmoothingEnabled = s < 3;
    if (overview) {
      ctx.drawImage(overview, 0, 0, p.width, p.height);
      if (!this.stats.first) {
        this.stats.first = performance.now() - this.started;
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
  /** @param {CanvasRenderingContext2D} ctx @param {Plane} p @param {number[]} t @param {number[]} part @param {number} s @param {Map<number, number[][]>|null} need */
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
          mine = this.tiles.get(key),
          b = mine ?? (p.layer === this.layer ? this.tiles.get(`${this.former}:${z},${x},${y}`) : null);
        if (mine) {
          this.tiles.delete(key);
          this.tiles.set(key, mine);
        }
        if (b) ctx.drawImage(b, x * f, y * f, b.width * 2 ** z, b.height * 2 ** z);
        if (mine || !need || this.asked.has(key) || this.m.st.trouble) continue;
        if (!need.has(p.layer)) need.set(p.layer, []);
        need.get(p.layer)?.push([z, x, y]);
        this.asked.set(key, performance.now());
      }
  }
  /** The whole piece small in a corner while one is near. @param {Plane} p */
  paintMini(p) {
    const [w, h] = this.inside(),
      [W, H] = this.spread(),
      overview = this.overviews.get(p.layer);
    const near = Boolean(overview) && this.k > NEAR * Math.min(w / W, h / H);
    this.mini.hidden = !near;
    if (!near || !overview) return;
    const f = 120 / Math.max(W, H),
      ctx = /** @type {CanvasRenderingContext2D} */ (this.mini.getContext("2d"));
    this.mini.width = Math.round(W * f);
    this.mini.height = Math.round(H * f);
    ctx.save();
    const t = this.matrix(true, p),
      r = f / this.k;
    ctx.setTransform(t[0] * r, t[1] * r, t[2] * r, t[3] * r, (t[4] - this.ox) * r, (t[5] - this.oy) * r);
    ctx.drawImage(overview, 0, 0, p.width, p.height);
    ctx.restore();
    ctx.strokeStyle = "#fff";
    ctx.lineWidth = 1.5;
    ctx.strokeRect((-this.ox / this.k) * f, (-this.oy / this.k) * f, (w / this.k) * f, (h / this.k) * f);
  }

  // --- what comes from Python -----------------------------------------------------------------
  listen() {
    const { m } = this;
    m.on("overview", (/** @type {any} */ x, /** @type {any[]} */ buffers) => {
      this.takeOverview(buffers[0], x.layer);
      if (x.photo) m.light.ready(x);
    });
    m.on("tile", async (/** @type {any} */ x, /** @type {any[]} */ buffers) => {
      const key = `${x.layer}:${x.k.join(",")}`,
        since = this.asked.get(key),
        bytes = buffers[0];
      this.stats.tiles++;
      this.stats.bytes += bytes.byteLength;
      const b = await createImageBitmap(new Blob([bytes], { type: "image/jpeg" }));
      if (since) this.stats.waits.push(performance.now() - since);
      this.asked.delete(key);
      this.tiles.get(key)?.close();
      this.tiles.set(key, b);
      while (this.tiles.size > KEEP) {
        const old = /** @type {string} */ (this.tiles.keys().next().value);
        this.tiles.get(old)?.close();
        this.tiles.delete(old);
      }
      this.draw();
    });
    // All of a batch was sent, yet some are not here: they were lost on the way, so ask again.
    m.on("tiles_done", (/** @type {any} */ x) =>
      setTimeout(() => {
        let lost = false;
        for (const q of x.keys) lost = this.asked.delete(`${x.layer}:${q.join(",")}`) || lost;
        if (lost) this.draw();
      }, 1500),
    );
    m.on("tiles_failed", (/** @type {any} */ x) => {
      for (const q of x.keys) this.asked.delete(`${x.layer}:${q.join(",")}`);
      this.draw();
    });
    m.on("relook", (/** @type {any} */ x) => {
      if (!this.asked.size) this.former = this.layer;
      this.layer = x.layer;
      this.asked.clear();
      this.draw();
    });
  }
  async takeOverview(/** @type {any} */ bytes, /** @type {number} */ layer) {
    if (!bytes?.byteLength || layer < 0) return;
    const b = await createImageBitmap(new Blob([bytes], { type: "image/jpeg" }));
    this.overviews.delete(layer);
    this.overviews.set(layer, b);
    while (this.overviews.size > OVERVIEWS)
      this.overviews.delete(/** @type {number} */ (this.overviews.keys().next().value));
    if (layer === this.layer) this.m.light.look(b);
    this.draw();
  }
  /** A look that is on the screen from now on. @param {number} layer @param {boolean} other another photograph */
  relayer(layer, other) {
    if (layer === this.layer) return;
    if (other) this.former = -1;
    else if (!this.asked.size) {
      this.former = this.layer;
      const b = this.overviews.get(this.layer);
      if (b && !this.overviews.has(layer)) this.overviews.set(layer, b);
    }
    this.layer = layer;
    this.asked.clear();
  }
  close() {
    cancelAnimationFrame(this.raf);
    this.tiles.forEach((b) => b.close());
    this.overviews.clear();
  }
}

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
