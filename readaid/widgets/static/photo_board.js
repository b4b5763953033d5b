// The photograph with its zones: looking, drawing, ordering, scale. Pixels are full-size image pixels.
import { button, choice, h, panel, refill, s } from "./kit.js";
import { sideCards } from "./photo_board_side.js";

/** @typedef {{id:string,x:number,y:number,w:number,h:number,outline:[number,number][]|null,label:string,text:string,mark:string,home:string,sure:string,faint:boolean,joined:boolean}} Zone */
/** @typedef {{x:number,y:number,w:number,h:number}} Box */

const clamp = (/** @type {number} */ v, /** @type {number} */ a, /** @type {number} */ b) => Math.min(b, Math.max(a, v));
const KEEP = 180; // bitmaps of 512 px held in the browser: 180 MB at most
const SLIVER = 0.3; // a photograph that would fill less of the frame than this is not shown whole at first
const CORNERS = ["top left", "top right", "bottom right", "bottom left"];
/** Points that are clicked in each mode; Infinity where the hand says when it is done. */
const POINTS = /** @type {Record<string, number>} */ ({ scale: 2, square: 4, sphere: 2, bend: Infinity });
const HINTS = /** @type {Record<string, string>} */ ({
  draw: "Drag round one sign. Each zone gets its number by itself.",
  scale: "Click one end of a length you know, then the other end. With the keyboard: arrows move the cross, Enter marks.",
  square: "Click four corners of something rectangular, clockwise from its top left. With the keyboard: arrows move the cross, Enter marks.",
  sphere: "Click the left and the right edge of a shiny ball in the picture. With the keyboard: arrows move the cross, Enter marks.",
  bend: "Click along the middle of the column, from above its first sign to below its last; double click, right click or Enter ends, Backspace takes a point back, Escape leaves. With the keyboard: arrows move the cross, the space bar marks.",
});

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { model, signal } = given;
  const editing = model.get("editing");
  const { root, body, say, ask, on, show, letters } = panel(given, "pb", model.get("title"));
  const started = performance.now();
  const stats = { first: 0, tiles: 0, bytes: 0, waits: /** @type {number[]} */ ([]) };
  /** @type {any} */ (root).boardStats = stats;

  // --- skeleton -------------------------------------------------------------
  const what = h("div", { class: "ra-bar pb-what" });
  const tools = h("div", { class: "ra-bar", role: "toolbar", "aria-label": "Photograph tools" });
  const zooms = h("div", { class: "pb-zooms", role: "toolbar", "aria-label": "Zoom" });
  const canvas = h("canvas", { "aria-hidden": "true" });
  const ground = s("g"), tip = s("g");
  const svg = s("svg", { role: "listbox", "aria-label": "Zones in reading order" }, ground, tip);
  const view = h("div", { class: "pb-view", tabindex: "0", role: "application", "aria-roledescription": "photograph board",
    "aria-label": "Photograph. Arrows move it, plus and minus zoom, 0 shows the whole, Page Down goes to the next zone." }, canvas, svg);
  view.style.height = `${model.get("view_height")}px`;
  const side = h("div", { class: "pb-side" });
  const work = h("div", { class: "pb-work", role: "group", "aria-label": "Running work" });
  const acts = h("div", { class: "ra-bar pb-acts", role: "toolbar", "aria-label": "What to do with the chosen zone" });
  const steps = h("div", { class: "pb-zooms pb-steps", role: "toolbar", "aria-label": "Steps" });
  const trouble = h("div", { class: "pb-trouble", role: "alert", hidden: true });
  const frame = h("div", { class: "pb-frame" }, steps, view, zooms, trouble);
  body.append(what, tools, work, h("div", { class: "pb-split" }, h("div", { class: "pb-left" }, frame, /** @type {Element} */ (root.querySelector(".ra-foot")), acts), side)); // answers stand under the photograph: the panel's foot lies below the screen's edge

  // --- what is shown --------------------------------------------------------
  let st = /** @type {any} */ ({ zones: [], columns: [], width: 1, height: 1 });
  let k = 1, ox = 0, oy = 0, fitted = false, whole = true, raf = 0; // screen = image * k + o
  let mode = "hand";
  let drag = /** @type {any} */ (null);
  let local = /** @type {{id:string, box:Box}|null} */ (null); // a zone under the hand, not yet kept
  let nudge = 0, redrawing = false, looked = false, proposing = false; // proposals for the whole photograph: their zones are shown near when they come
  let marks = /** @type {[number,number][]} */ ([]), cursor = /** @type {[number,number]|null} */ (null);
  let overview = /** @type {ImageBitmap|null} */ (null), layer = -1, former = -1; // tiles of the former look stand in while a slider moves
  let band = 0, sliding = /** @type {{name:string, value:number, told:number}|null} */ (null);
  const tiles = /** @type {Map<string, ImageBitmap>} */ (new Map());
  const asked = /** @type {Map<string, number>} */ (new Map());
  const fingers = /** @type {Map<number, PointerEvent>} */ (new Map());

  const ctx = canvas.getContext("2d");
  const size = () => view.getBoundingClientRect();
  const inside = () => { const r = size(); return [view.clientWidth || r.width, view.clientHeight || r.height]; };
  const draw = () => { if (!raf) raf = requestAnimationFrame(() => { raf = 0; paint(); }); };
  const zoneOf = (/** @type {string} */ id) => /** @type {Zone|undefined} */ (st.zones.find((/** @type {Zone} */ z) => z.id === id));
  const boxOf = (/** @type {Zone} */ z) => (local && local.id === z.id ? local.box : z);

  function fit() {
    const [w, hh] = inside();
    if (!w || !st.width) return;
    const top = 58; // a tall column begins where the zoom buttons lie: its first sign must not be under them
    k = Math.min(w / st.width, Math.max(hh - top, hh / 2) / st.height); ox = (w - st.width * k) / 2; oy = Math.max((hh - st.height * k) / 2, Math.min(top, hh - st.height * k)); fitted = true; whole = true; redrawZones(); draw();
  }
  function zoomAt(/** @type {number} */ f, /** @type {number} */ cx, /** @type {number} */ cy) {
    const [w, hh] = inside();
    whole = false;
    const n = clamp(k * f, Math.min(w / st.width, hh / st.height) * 0.5, 12);
    ox = cx - ((cx - ox) * n) / k; oy = cy - ((cy - oy) * n) / k; k = n; redrawZones(); draw();
  }
  function fitZones() { // where signs are chosen and not drawn, the writing counts and not the whole photograph
    const [w, hh] = inside(), zs = st.zones, top = 58; // the zoom buttons lie over the upper edge
    if (!w || !zs.length) return;
    const span = (/** @type {"x"|"y"} */ a, /** @type {"w"|"h"} */ l) => [Math.min(...zs.map((/** @type {any} */ z) => z[a])), Math.max(...zs.map((/** @type {any} */ z) => z[a] + z[l]))];
    const [x0, x1] = span("x", "w"), [y0, y1] = span("y", "h");
    const n = clamp(Math.min((w * 0.9) / (x1 - x0 || 1), ((hh - top) * 0.94) / (y1 - y0 || 1)), k, 4);
    if (n < k * 1.3) return; // the writing fills the photograph already
    whole = false; k = n; ox = w / 2 - ((x0 + x1) / 2) * k; oy = (hh + top) / 2 - ((y0 + y1) / 2) * k; redrawZones(); draw();
  }
  const extent = (/** @type {any[]} */ zs) => [Math.min(...zs.map((z) => z.x)), Math.min(...zs.map((z) => z.y)), Math.max(...zs.map((z) => z.x + z.w)), Math.max(...zs.map((z) => z.y + z.h))];
  function open() { // the first look: the whole, the writing where signs are chosen, and never a sliver
    fit();
    if (!editing) fitZones();
    const [w, hh] = inside(), sw = st.width * k, sh = st.height * k;
    if (!st.width || Math.min(sw / w, sh / hh) > SLIVER) return;
    const tall = sw / w < sh / hh, top = 58;
    whole = false;
    if (st.zones.length) {
      const [x0, y0, x1, y1] = extent(st.zones);
      k = clamp(tall ? (w * 0.8) / (x1 - x0) : ((hh - top) * 0.9) / (y1 - y0), k, Math.max(k, 1.5));
      ox = tall ? w / 2 - ((x0 + x1) / 2) * k : w - 20 - x1 * k; oy = tall ? top - y0 * k : (hh + top) / 2 - ((y0 + y1) / 2) * k;
    } else if (tall) { k = Math.min(w / st.width, 4); ox = (w - st.width * k) / 2; oy = 0; }
    else { k = Math.min(hh / st.height, 4); ox = w - st.width * k; oy = (hh - st.height * k) / 2; }
    say(`A very ${tall ? "tall" : "wide"} photograph: its ${tall ? "upper" : "right-hand"} part is shown. Drag it or use the arrow keys for the rest; 0 shows the whole.`);
    redrawZones(); draw();
  }
  function middle(/** @type {number} */ f) { // about the chosen zone where it is in sight, or 1:1 on a large photograph loses it
    const [w, hh] = inside(), z = zoneOf(st.selected), x = z ? (z.x + z.w / 2) * k + ox : -1, y = z ? (z.y + z.h / 2) * k + oy : -1;
    if (x > 0 && y > 0 && x < w && y < hh) zoomAt(f, x, y); else zoomAt(f, w / 2, hh / 2);
  }
  function showZone(/** @type {string} */ id) { // bring a zone into sight without changing the zoom more than needed
    const z = zoneOf(id); if (!z) return;
    const [w, hh] = inside(), n = Math.min(4, 72 / Math.max(z.w, z.h, 1));
    if (Math.max(z.w, z.h) * k < 26 && n > k) { whole = false; k = n; ox = w / 2 - (z.x + z.w / 2) * k; oy = hh / 2 - (z.y + z.h / 2) * k; redrawZones(); } // 13 px of a sign cannot be judged
    const x = z.x * k + ox, y = z.y * k + oy;
    if (x < 10 || y < 10 || x + z.w * k > w - 10 || y + z.h * k > hh - 10) { whole = false; ox = w / 2 - (z.x + z.w / 2) * k; oy = hh / 2 - (z.y + z.h / 2) * k; }
    draw();
  }

  function paint() {
    const [w, hh] = inside();
    if (!w) return;
    if (!fitted) { open(); return; }
    const d = window.devicePixelRatio || 1, cw = Math.round(w * d), ch = Math.round(hh * d);
    if (canvas.width !== cw || canvas.height !== ch) { canvas.width = cw; canvas.height = ch; }
    ctx.setTransform(d, 0, 0, d, 0, 0); ctx.clearRect(0, 0, w, hh);
    ctx.imageSmoothingEnabled = k < 3;
    if (st.flip) { ctx.translate(2 * ox + st.width * k, 0); ctx.scale(-1, 1); } // tiles are those of the file; only the picture is turned
    if (overview) {
      ctx.drawImage(overview, ox, oy, st.width * k, st.height * k);
      if (!stats.first) { stats.first = performance.now() - started; root.dataset.painted = "1"; }
    }
    const need = [], T = st.tile;
    if (overview && k * d > (1.05 * overview.width) / st.width) {
      const z = clamp(Math.floor(Math.log2(1 / (k * d)) + 0.01), 0, st.max_z), f = T * 2 ** z;
      const left = st.flip ? st.width - (w - ox) / k : -ox / k, right = st.flip ? st.width + ox / k : (w - ox) / k;
      const x0 = Math.max(0, Math.floor(left / f)), x1 = Math.min(Math.ceil(st.width / f) - 1, Math.floor(right / f));
      const y0 = Math.max(0, Math.floor(-oy / k / f)), y1 = Math.min(Math.ceil(st.height / f) - 1, Math.floor((hh - oy) / k / f));
      for (let y = y0; y <= y1; y++) for (let x = x0; x <= x1; x++) {
        const key = `${layer}:${z},${x},${y}`, mine = tiles.get(key), b = mine ?? tiles.get(`${former}:${z},${x},${y}`);
        if (mine) { tiles.delete(key); tiles.set(key, mine); }
        if (b) ctx.drawImage(b, ox + x * f * k, oy + y * f * k, b.width * 2 ** z * k, b.height * 2 ** z * k);
        if (!mine && !asked.has(key) && !st.trouble) { need.push([z, x, y]); asked.set(key, performance.now()); }
      }
    }
    if (st.swap) { ctx.globalCompositeOperation = "difference"; ctx.fillStyle = "#fff"; ctx.fillRect(ox, oy, st.width * k, st.height * k); ctx.globalCompositeOperation = "source-over"; }
    if (need.length) askTiles(need);
    else if (!asked.size && former >= 0) { for (const [key, b] of tiles) if (!key.startsWith(`${layer}:`)) { b.close(); tiles.delete(key); } former = -1; }
    root.dataset.waiting = String(asked.size);
    root.dataset.view = JSON.stringify({ s: k, ox, oy });
    zoomWord.textContent = `${Math.round(k * 100)} %`;
    ground.setAttribute("transform", `translate(${ox} ${oy}) scale(${k})`);
    paintTip();
  }

  /** @param {number[][]} keys */
  function askTiles(keys) {
    ask("tiles", { layer, keys });
  }
  // All of a batch was sent, yet some are not here: they were lost on the way, so ask again.
  on("tiles_done", (/** @type {any} */ m) => setTimeout(() => {
    let lost = false;
    for (const q of m.keys) lost = asked.delete(`${m.layer}:${q.join(",")}`) || lost;
    if (lost && m.layer === layer) draw();
  }, 1500));

  on("tiles_failed", (/** @type {any} */ m) => { for (const q of m.keys) asked.delete(`${m.layer}:${q.join(",")}`); draw(); });
  on("relook", (/** @type {any} */ m) => { // a slider moves: the tiles of the look before stand in until the new ones are here
    if (!asked.size) former = layer;
    layer = m.layer; asked.clear(); draw();
  });

  const MARK = { read: "pb-read", unread: "pb-unread", lost: "pb-lost", proposed: "pb-proposed" };
  function redrawZones() {
    const had = document.activeElement?.closest?.(".pb-zone")?.getAttribute("data-id");
    const f = 1 / k, words = labels();
    redrawing = true; // taking the focused zone out makes it lose the focus, which is no leaving by hand
    ground.replaceChildren(...st.zones.map((/** @type {Zone} */ z, /** @type {number} */ i) => {
      const b = boxOf(z), on = z.id === st.selected;
      const g = s("g", { class: `pb-zone ${MARK[z.mark] ?? ""} ${z.faint ? "pb-doubt" : z.sure ? "pb-proposed" : ""}`, role: "option", tabindex: on || (!st.selected && i === 0) ? "0" : "-1", "aria-selected": String(on),
        "data-id": z.id, "aria-label": `Zone ${z.label || "without a sign"}, ${z.text ? `read ${z.text}` : "not read"}, ${Math.round(b.w)} by ${Math.round(b.h)} pixels${z.sure ? `, ${z.sure}` : ""}${z.home ? `, drawn on ${z.home}` : ""}` });
      const shape = z.outline && b === z ? s("polygon", { class: "pb-edge", points: z.outline.map((p) => p.join(",")).join(" ") })
        : s("rect", { class: "pb-edge", x: b.x, y: b.y, width: b.w, height: b.h });
      const under = /** @type {any} */ (shape.cloneNode()); // a light dashed line is lost on paper without a dark one below it
      under.setAttribute("class", "pb-halo");
      if (b.w * k > 7) g.append(under);
      g.append(shape);
      const word = words.get(z.id);
      if (word) g.append(s("text", { class: "pb-label", x: b.x + word.dx * f, y: b.y + word.dy * f, "font-size": word.size * f, "stroke-width": 4 * f, lang: "ja", text: word.text }));
      g.append(s("title", { text: `${z.label || "–"} ${z.text}${z.sure ? ` (${z.sure})` : ""}` }));
      const close = b.w * k < 44 || b.h * k < 44; // eight grips would hide a small zone
      if (on && editing && mode === "hand") for (const [c, hx, hy] of (/** @type {[string,number,number][]} */ ([["nw", b.x, b.y], ["n", b.x + b.w / 2, b.y], ["ne", b.x + b.w, b.y], ["e", b.x + b.w, b.y + b.h / 2],
        ["se", b.x + b.w, b.y + b.h], ["s", b.x + b.w / 2, b.y + b.h], ["sw", b.x, b.y + b.h], ["w", b.x, b.y + b.h / 2]])).filter((g) => !close || g[0] === "nw" || g[0] === "se"))
        g.append(s("circle", { class: "pb-grip", "data-c": c, cx: hx, cy: hy, r: (close ? 5 : 7) * f, style: `cursor:${c.length === 2 ? (c === "nw" || c === "se" ? "nwse" : "nesw") : c === "n" || c === "s" ? "ns" : "ew"}-resize` }),
          s("circle", { class: "pb-hit", "data-c": c, cx: hx, cy: hy, r: (close ? 9 : 15) * f, style: "cursor:inherit" }));
      return g;
    }));
    if (had) /** @type {any} */ (ground.querySelector(`[data-id="${CSS.escape(had)}"]`))?.focus({ preventScroll: true });
    redrawing = false;
  }
  /** Labels that have room, by zone: number and reading, else the number alone, else none; the chosen zone's always. */
  function labels() {
    const found = /** @type {Map<string, {text:string, dx:number, dy:number, size:number}>} */ (new Map()), taken = /** @type {number[][]} */ ([]);
    const rects = st.zones.map((/** @type {Zone} */ z) => { const b = boxOf(z); return [b.x * k, b.y * k, (b.x + b.w) * k, (b.y + b.h) * k]; });
    const meet = (/** @type {number[]} */ a, /** @type {number[]} */ b, slack = 0) => a[0] + slack < b[2] && b[0] + slack < a[2] && a[1] + slack < b[3] && b[1] + slack < a[3];
    const wide = (/** @type {string} */ t, /** @type {number} */ size) => [...t].reduce((n, ch) => n + (ch > "\u2e7f" ? 1 : 0.62), 0) * size;
    const order = st.zones.map((/** @type {Zone} */ z, /** @type {number} */ i) => i).sort((/** @type {number} */ a, /** @type {number} */ b) => Number(st.zones[b].id === st.selected) - Number(st.zones[a].id === st.selected) || a - b);
    for (const i of order) {
      const z = st.zones[i], r = rects[i], on = z.id === st.selected;
      if (!z.label) continue;
      const number = z.label + (z.faint ? "?" : "");
      const w = r[2] - r[0], ways = [[z.text ? `${number} ${z.text}` : number, w + 4, 15, 15], [number, w + 3, 13, 13], [number, 2, 13, 12]];
      if (on) ways.length = 1;
      for (const [text, dx, dy, size] of /** @type {[string, number, number, number][]} */ (ways)) {
        const box = [r[0] + dx, r[1] + dy - size, r[0] + dx + wide(text, size), r[1] + dy + 3];
        const within = dx < w;
        if (!on && (taken.some((t) => meet(t, box)) || (within ? box[2] > r[2] || box[3] > r[3] : rects.some((/** @type {number[]} */ o, /** @type {number} */ j) => j !== i && meet(o, box, 3))))) continue;
        taken.push(box); found.set(z.id, { text, dx, dy, size });
        break;
      }
    }
    return found;
  }
  const at = (/** @type {[number,number]} */ p) => [p[0] * k + ox, p[1] * k + oy];
  function paintTip() {
    const kids = [];
    if (drag?.kind === "draw" && drag.cur) {
      const c = norm(drag.p0, drag.cur), [x, y] = at([c.x, c.y]);
      kids.push(s("rect", { class: "pb-new", x, y, width: c.w * k, height: c.h * k }));
    }
    const line = (/** @type {any} */ a, /** @type {any} */ b, /** @type {string} */ cls, /** @type {string} */ word) => {
      const [x1, y1] = at(a), [x2, y2] = at(b);
      kids.push(s("line", { class: `${cls} pb-under`, x1, y1, x2, y2 }), s("line", { class: cls, x1, y1, x2, y2 }),
        s("text", { class: "pb-label", "font-size": 15, "stroke-width": 4, x: (x1 + x2) / 2 + 6, y: (y1 + y2) / 2 - 6, text: word }));
    };
    if (st.scale && mode === "scale") {
      line(st.scale.a, st.scale.b, "pb-rule", `${st.scale.millimetres} mm`);
      if (st.scale.check_a) line(st.scale.check_a, st.scale.check_b, "pb-rule pb-rule2", `${st.scale.check_millimetres} mm`);
    }
    for (const c of st.corrections ?? []) for (const b of c.boxes) { const [x, y] = at([b.x, b.y]); kids.push(s("rect", { class: "pb-offer", x, y, width: b.w * k, height: b.h * k })); }
    if (st.ruler && editing) kids.push(s("polygon", { class: "pb-ruler", points: st.ruler.outline.map((/** @type {[number,number]} */ p) => at(p).join(",")).join(" ") }));
    if (mode === "bend" && marks.length) {
      const all = cursor ? [...marks, cursor] : marks;
      for (const side of [-1, 1]) kids.push(s("polyline", { class: "pb-band", points: edge(all, (side * band) / 2).map((p) => at(p).join(",")).join(" ") }));
    }
    if (mode === "square" || mode === "bend") marks.slice(1).forEach((p, i) => line(marks[i], p, "pb-rule", ""));
    else if (marks.length === 2) line(marks[0], marks[1], "pb-rule", "");
    for (const p of marks) { const [x, y] = at(p); kids.push(s("circle", { class: "pb-point", cx: x, cy: y, r: 6 })); }
    if (cursor && pointing()) { const [x, y] = at(cursor); kids.push(s("path", { class: "pb-cross", d: `M${x - 16} ${y}h32M${x} ${y - 16}v32` })); }
    tip.replaceChildren(...kids);
  }

  /** A line beside a line of points, `by` pixels to its right (down the picture: to the left of the hand that goes along).
   * @param {[number,number][]} points @param {number} by @returns {[number,number][]} */
  const edge = (points, by) => points.map((p, i) => {
    const a = points[Math.max(0, i - 1)], b = points[Math.min(points.length - 1, i + 1)], n = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    return /** @type {[number,number]} */ ([p[0] + ((b[1] - a[1]) / n) * by, p[1] - ((b[0] - a[0]) / n) * by]);
  });

  // --- doing ----------------------------------------------------------------
  const toImage = (/** @type {{clientX:number, clientY:number}} */ e) => { const r = size(); return /** @type {[number,number]} */ ([(e.clientX - r.left - view.clientLeft - ox) / k, (e.clientY - r.top - view.clientTop - oy) / k]); };
  const norm = (/** @type {number[]} */ a, /** @type {number[]} */ b) => {
    const x0 = clamp(Math.round(Math.min(a[0], b[0])), 0, st.width), y0 = clamp(Math.round(Math.min(a[1], b[1])), 0, st.height);
    return { x: x0, y: y0, w: clamp(Math.round(Math.max(a[0], b[0])), 0, st.width) - x0, h: clamp(Math.round(Math.max(a[1], b[1])), 0, st.height) - y0 };
  };
  const select = (/** @type {string} */ id) => { if (id !== st.selected) { if (looked) { looked = false; say("", "quiet"); } st = { ...st, selected: id }; redrawZones(); paintActs(); paintSide(); ask("select", { zone: id }); } };
  function setMode(/** @type {string} */ m, quiet = false) {
    mode = m; marks = []; cursor = null; view.dataset.mode = m;
    for (const b of tools.querySelectorAll("[data-mode]")) b.setAttribute("aria-pressed", String(b.dataset.mode === m));
    paintSide(); redrawZones(); draw();
    if (m === "bend") band = st.across || 100;
    if (!quiet) say(HINTS[m] ?? "");
    if (POINTS[m]) view.focus({ preventScroll: true });
    if (m === "scale" && st.photo && !st.scale && !st.ruler_sought && !st.busy) ask("find_ruler"); // the hand may click two ends meanwhile
  }
  const keep = (/** @type {string} */ id, /** @type {Box} */ b) => ask("change_zone", { zone: id, box: [b.x, b.y, b.w, b.h] }).then(() => { if (local?.id === id && !drag && !nudge) { local = null; redrawZones(); } });
  const finishNudge = () => { if (nudge) { clearTimeout(nudge); nudge = 0; if (local) keep(local.id, local.box); } };
  const moved = (/** @type {Box} */ b, /** @type {number} */ dx, /** @type {number} */ dy) => ({ ...b, x: clamp(Math.round(b.x + dx), 0, st.width - b.w), y: clamp(Math.round(b.y + dy), 0, st.height - b.h) });
  const step = (/** @type {number} */ by) => {
    const order = st.zones, i = order.findIndex((/** @type {Zone} */ z) => z.id === st.selected);
    const next = order[clamp(i + by, 0, order.length - 1)] ?? order[0];
    if (!next) return;
    finishNudge(); select(next.id); showZone(next.id);
    /** @type {any} */ (ground.querySelector(`[data-id="${CSS.escape(next.id)}"]`))?.focus({ preventScroll: true });
  };
  function newInMiddle() {
    const [w, hh] = inside();
    const side0 = st.usual ? st.usual : [60 / k, 60 / k];
    const c = [(w / 2 - ox) / k, (hh / 2 - oy) / k];
    const b = norm([c[0] - side0[0] / 2, c[1] - side0[1] / 2], [c[0] + side0[0] / 2, c[1] + side0[1] / 2]);
    ask("add_zone", { box: [b.x, b.y, b.w, b.h] });
  }
  const pointing = () => Boolean(POINTS[mode]);
  function mark(/** @type {[number,number]} */ p) {
    if (marks.length === POINTS[mode]) marks = [];
    marks.push([clamp(p[0], 0, st.width), clamp(p[1], 0, st.height)]);
    draw();
    const full = marks.length === POINTS[mode], given = marks;
    if (mode === "square") {
      if (!full) say(`Now the corner that belongs ${CORNERS[marks.length]}.`);
      else { setMode("hand"); ask("square_up", { corners: given }); }
    } else if (mode === "sphere") {
      if (!full) say("Now its opposite edge.");
      else { setMode("hand"); ask("sphere", { points: given }); }
    } else if (mode === "bend") { say(marks.length < 2 ? "Now further down the column." : `${marks.length} points. Go on, or end with a double click, a right click or Enter.`); paintSide(); }
    else {
      say(full ? "Now write how long that is, at the right." : "Now the other end.");
      if (full) { paintSide(); side.querySelector("input")?.focus(); }
    }
  }
  function endBend() {
    const line = marks.filter((p, i) => !i || Math.hypot(p[0] - marks[i - 1][0], p[1] - marks[i - 1][1]) * k > 4); // a double click marks twice
    if (line.length < 2) { say("Click at least two points along the middle of the column first."); return; }
    const width = band;
    setMode("hand"); ask("straighten", { line, width });
  }
  const unmark = () => { marks.pop(); paintSide(); draw(); };

  const listen = (/** @type {any} */ t, /** @type {string} */ n, /** @type {any} */ f, o = {}) => t.addEventListener(n, f, { ...o, signal });
  listen(view, "wheel", (/** @type {WheelEvent} */ e) => {
    // A wheel over a photo that was not clicked scrolls the page, or nobody could get past it.
    if (!e.ctrlKey && !view.contains(document.activeElement)) { say("Click the photograph first; then the wheel zooms.", "quiet"); return; }
    e.preventDefault();
    const r = size();
    zoomAt(Math.exp(-clamp(e.deltaY, -240, 240) * 0.0016), e.clientX - r.left - view.clientLeft, e.clientY - r.top - view.clientTop);
  }, { passive: false });
  listen(view, "pointerdown", (/** @type {PointerEvent} */ e) => {
    fingers.set(e.pointerId, e);
    view.setPointerCapture(e.pointerId);
    if (fingers.size === 2) { drag = { kind: "pinch" }; return; }
    finishNudge();
    const p = toImage(e), target = /** @type {Element} */ (e.target), g = target.closest(".pb-zone"), c = target.getAttribute("data-c");
    const z = g && zoneOf(g.getAttribute("data-id") ?? "");
    if (e.button === 1 || e.button === 2 || fingers.size > 1) drag = { kind: "pan", x: e.clientX - ox, y: e.clientY - oy, cx: e.clientX, cy: e.clientY, button: e.button };
    else if (pointing()) drag = { kind: "mark", p, x: e.clientX - ox, y: e.clientY - oy, cx: e.clientX, cy: e.clientY };
    else if (mode === "draw" && editing) drag = { kind: "draw", p0: p };
    else if (z && c && editing) drag = { kind: "corner", id: z.id, c, b0: { ...boxOf(z) } };
    else if (z && z.id === st.selected && editing) drag = { kind: "move", id: z.id, p0: p, b0: { ...boxOf(z) } };
    else drag = { kind: "pan", x: e.clientX - ox, y: e.clientY - oy, pick: z ? z.id : null, cx: e.clientX, cy: e.clientY };
    view.focus({ preventScroll: true });
  });
  listen(view, "contextmenu", (/** @type {Event} */ e) => e.preventDefault());
  listen(view, "dblclick", () => { if (mode === "bend") endBend(); });
  listen(view, "pointermove", (/** @type {PointerEvent} */ e) => {
    if (fingers.has(e.pointerId) && fingers.size === 2) {
      const [a0, b0] = [...fingers.values()], d0 = Math.hypot(a0.clientX - b0.clientX, a0.clientY - b0.clientY), m0 = [(a0.clientX + b0.clientX) / 2, (a0.clientY + b0.clientY) / 2];
      fingers.set(e.pointerId, e);
      const [a, b] = [...fingers.values()], d = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY), m = [(a.clientX + b.clientX) / 2, (a.clientY + b.clientY) / 2], r = size();
      ox += m[0] - m0[0]; oy += m[1] - m0[1]; zoomAt(d / (d0 || 1), m[0] - r.left, m[1] - r.top);
      return;
    }
    if (!drag) return;
    const p = toImage(e);
    if (drag.kind === "pan" || drag.kind === "mark") {
      if (drag.cx !== undefined && Math.hypot(e.clientX - drag.cx, e.clientY - drag.cy) < 5 && !drag.far) return;
      drag.far = true; whole = false; ox = e.clientX - drag.x; oy = e.clientY - drag.y;
    } else if (drag.kind === "draw") drag.cur = p;
    else if (drag.kind === "move") { const b = moved(drag.b0, p[0] - drag.p0[0], p[1] - drag.p0[1]); if (b.x !== drag.b0.x || b.y !== drag.b0.y) drag.moved = true; local = { id: drag.id, box: b }; redrawZones(); }
    else if (drag.kind === "corner") {
      const b = drag.b0, x = [b.x, b.x + b.w], y = [b.y, b.y + b.h];
      if (drag.c.includes("w")) x[0] = p[0]; if (drag.c.includes("e")) x[1] = p[0];
      if (drag.c.includes("n")) y[0] = p[1]; if (drag.c.includes("s")) y[1] = p[1];
      const n = norm([x[0], y[0]], [x[1], y[1]]);
      if (n.w > 2 && n.h > 2) { drag.moved = true; local = { id: drag.id, box: n }; redrawZones(); }
    }
    draw();
  });
  const up = (/** @type {PointerEvent} */ e) => {
    fingers.delete(e.pointerId);
    const d = drag; drag = null;
    if (!d) return;
    if (d.kind === "draw" && d.cur) {
      const c = norm(d.p0, d.cur);
      if (c.w * k > 5 && c.h * k > 5) ask("add_zone", { box: [c.x, c.y, c.w, c.h] }); else say("That was too small for a zone; drag right round the sign.");
    } else if (d.kind === "mark" && !d.far) mark(d.p);
    else if (d.kind === "pan" && !d.far && d.button === 2 && mode === "bend") endBend();
    else if (d.kind === "pan" && !d.far && d.pick !== undefined) { select(d.pick ?? ""); if (d.pick) /** @type {any} */ (ground.querySelector(`[data-id="${CSS.escape(d.pick)}"]`))?.focus({ preventScroll: true }); }
    else if (d.moved && local) keep(local.id, local.box);
    draw();
  };
  listen(view, "pointerup", up);
  listen(view, "pointercancel", (/** @type {PointerEvent} */ e) => { fingers.delete(e.pointerId); drag = null; local = null; redrawZones(); draw(); });

  listen(root, "keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.isComposing) return;
    const mod = e.ctrlKey || e.metaKey, typing = /** @type {HTMLElement} */ (e.target).closest("input,textarea,select");
    if (mod && editing && !typing) {
      const key = e.key.toLowerCase();
      if (key === "z" && !e.shiftKey) { e.preventDefault(); finishNudge(); ask("undo"); } else if (key === "y" || (key === "z" && e.shiftKey)) { e.preventDefault(); ask("redo"); }
    }
  }, { capture: true });
  listen(view, "keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.isComposing || e.ctrlKey || e.metaKey) return;
    const z = document.activeElement?.closest?.(".pb-zone") ? zoneOf(st.selected) : undefined;
    const far = e.shiftKey ? 10 : 1;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    let mine = true;
    if (way && pointing()) { const [w, hh] = inside(); cursor ??= [(w / 2 - ox) / k, (hh / 2 - oy) / k]; cursor = [cursor[0] + (way[0] * far * 4) / k, cursor[1] + (way[1] * far * 4) / k]; draw(); }
    else if (e.key === "Enter" && mode === "bend") endBend();
    else if ((e.key === "Enter" || e.key === " ") && pointing()) { if (cursor) mark([...cursor]); }
    else if (e.key === "Backspace" && pointing()) unmark();
    else if (way && z && editing) {
      const b = boxOf(z), d = [way[0] * far, way[1] * far];
      local = { id: z.id, box: e.altKey ? { ...b, w: clamp(b.w + d[0], 3, st.width - b.x), h: clamp(b.h + d[1], 3, st.height - b.y) } : moved(b, d[0], d[1]) };
      clearTimeout(nudge); nudge = setTimeout(finishNudge, 700); redrawZones(); draw(); // one revision for one run of presses
    } else if (way) { whole = false; ox -= way[0] * 40; oy -= way[1] * 40; draw(); }
    else if (e.key === "+" || e.key === "=") middle(1.25);
    else if (e.key === "-") middle(0.8);
    else if (e.key === "0") fit();
    else if (e.key === "PageDown") step(1);
    else if (e.key === "PageUp") step(-1);
    else if (e.key === "Home" && st.zones[0]) { select(st.zones[0].id); step(0); }
    else if ((e.key === "Delete" || e.key === "Backspace") && st.selected && editing) { view.focus({ preventScroll: true }); ask("delete_zone", { zone: st.selected }); }
    else if (e.key === "n" && editing) newInMiddle();
    else if (e.key === "r" && editing && zoneOf(st.selected)?.sure) right();
    else if (e.key === "l" && editing) lookNext();
    else if (e.key === "d" && editing) setMode("draw");
    else if (e.key === "h") setMode("hand");
    else if (e.key === "Escape") { if (mode !== "hand") setMode("hand"); else select(""); local = null; view.focus({ preventScroll: true }); redrawZones(); }
    else mine = false;
    if (mine) e.preventDefault();
  });
  listen(view, "focusout", () => { if (!redrawing) finishNudge(); });
  listen(view, "focusin", (/** @type {FocusEvent} */ e) => {
    const id = /** @type {Element} */ (e.target).closest?.(".pb-zone")?.getAttribute("data-id");
    if (!redrawing && id && id !== st.selected && /** @type {Element} */ (e.target).matches(":focus-visible")) select(id);
  });

  // --- tools, sides ----------------------------------------------------------
  const zoomWord = h("span", { class: "pb-zoom", "aria-label": "Zoom" });
  const tool = (/** @type {string} */ word, /** @type {string} */ m, /** @type {string} */ title) => button(word, () => setMode(m), { "data-mode": m, "aria-pressed": String(m === mode), title });
  const undo = button("Undo", () => ask("undo"), { title: "Take back the last step (Ctrl+Z)" });
  const redo = button("Redo", () => ask("redo"), { title: "Do it again (Ctrl+Y)" });
  const photoBox = h("div", { class: "ra-group pb-pick" });
  const viewBox = h("div", { class: "ra-group pb-views" });
  const onScreen = () => { const [w, hh] = inside(), c = norm([-ox / k, -oy / k], [(w - ox) / k, (hh - oy) / k]); return whole || c.w < 8 || c.h < 8 ? null : [c.x, c.y, c.w, c.h]; };
  const proposeButton = button("Propose zones", () => { proposing = whole; ask("propose", { region: onScreen() }); }, { title: "Let the computer look for columns and signs in what is on the screen; you mend the result" });
  const file = h("input", { type: "file", multiple: true, accept: "image/jpeg,image/png,image/tiff,image/webp,.tif,.tiff", class: "ra-sr", tabindex: "-1", "aria-label": "Photographs to add", onchange: () => send([...file.files]) });
  const reliefButton = button("Relief from the lights", () => ask("relief"), { title: "Works out the surface from all photographs of this side under different lights: cuts dark, colour gone" });
  if (editing) tools.append(tool("Look and change", "hand", "Move the photograph; choose, move and resize zones (H)"), tool("Draw zones", "draw", "Drag round a sign (D)"), proposeButton, tool("Set the scale", "scale", "Two clicks and a length you know"),
    tool("Square up", "square", "Four corners of something rectangular; makes a straightened picture, zones stay on the untouched photograph"),
    tool("Straighten a column", "bend", "Points along the middle of a curved column; makes a picture with the column laid straight, zones stay on the untouched photograph"), reliefButton);
  else tools.hidden = true;
  what.append(photoBox);
  if (editing) what.append(button("Add photographs …", () => file.click(), { class: "ra-button pb-add", title: "Copies the files into the folder of the piece; the originals stay as they are" }), file);
  what.append(viewBox);
  steps.append(undo, redo); steps.hidden = !editing;
  zooms.append(button("−", () => middle(0.8), { "aria-label": "Zoom out" }), zoomWord, button("+", () => middle(1.25), { "aria-label": "Zoom in" }),
    button("Whole", () => fit(), { title: "Show the whole photograph (0)" }), button("1:1", () => middle(1 / k), { title: "One pixel of the photo for one of the screen", "aria-label": "Full size" }));

  function paintTools() {
    refill(photoBox, st.photos?.length > 1 || (st.photos?.length && !editing) ? choice("Photograph", st.photos.map((/** @type {any} */ p) => [p.id, p.title]), st.photo, (v) => ask("photo", { photo: v }), { "data-key": "photo" }) : null,
      editing && st.over_choices?.length ? choice("Laid over", [["", "no other"], ...st.over_choices.map((/** @type {any} */ p) => [p.id, p.title])], st.over, (v) => ask("lay_over", { reference: v }), { "data-key": "over", title: "Zones then hold in both photographs of the surface" }) : null,
      st.inscriptions?.length ? choice("Inscription", [...st.inscriptions.map((/** @type {any} */ i) => [i.id, i.title]), .../** @type {any} */ (editing ? [["+", "New inscription …"]] : [])], st.inscription, (v) => ask("inscription", { inscription: v }), { "data-key": "inscription" }) : null,
      editing && st.photo ? choice(st.inscription ? "What it is" : "What you will mark", st.kinds.map((/** @type {any} */ i) => [i.id, i.title]), st.kind, (v) => ask("kind", { kind: v }), { "data-key": "kind", title: st.kind_words }) : null);
    undo.disabled = !st.undo; redo.disabled = !st.redo;
    undo.title = st.undo ? `Take back: ${st.undo} (Ctrl+Z)` : "Nothing to take back"; redo.title = st.redo ? `Do again: ${st.redo} (Ctrl+Y)` : "Nothing to do again";
    proposeButton.disabled = reliefButton.disabled = !st.photo || Boolean(st.busy) || Boolean(st.trouble);
    for (const b of tools.querySelectorAll("[data-mode=scale],[data-mode=square],[data-mode=bend]")) b.disabled = !st.photo || Boolean(st.trouble);
    const kids = [];
    if (st.views?.length) {
      kids.push(choice("View", st.views.map((/** @type {any} */ v) => [v.name, v.label]), st.view, (v) => ask("view", { name: v }), { "data-key": "view" }));
      const now = st.views.find((/** @type {any} */ v) => v.name === st.view);
      for (const sl of now?.sliders ?? []) {
        const out = h("output", { text: sl.words ?? String(sl.value) });
        const range = h("input", { type: "range", class: "ra-range", min: String(sl.min), max: String(sl.max), step: String(sl.step), "aria-label": sl.label, "data-key": `slide-${sl.name}`,
          oninput: () => { out.textContent = String(Number((+range.value).toPrecision(3))); slide(sl.name, +range.value); }, onchange: () => { sliding = null; ask("slide", { name: sl.name, value: +range.value }); } });
        range.value = String(sl.value);
        kids.push(h("label", { class: "ra-field" }, h("span", { class: "ra-label" }, `${sl.label} `, out), range));
      }
      if (now?.help) kids.push(h("span", { class: "ra-hint pb-help", text: now.help }));
    }
    if (viewBox.contains(document.activeElement) && document.activeElement?.matches(":active")) return; // the hand holds the slider
    refill(viewBox, kids);
  }
  /** While a slider moves the picture follows: one look at a time, always the newest value. */
  function slide(/** @type {string} */ name, /** @type {number} */ value) {
    if (sliding) { sliding.name = name; sliding.value = value; return; }
    sliding = { name, value, told: NaN };
    const go = () => {
      if (!sliding || sliding.value === sliding.told) { sliding = null; return; }
      sliding.told = sliding.value;
      ask("slide", { name: sliding.name, value: sliding.value, done: false }).then(() => {
        const since = performance.now();
        const next = () => { if (asked.size && performance.now() - since < 1500) setTimeout(next, 30); else go(); };
        setTimeout(next, 60);
      });
    };
    go();
  }
  function paintWork() {
    const b = st.busy;
    refill(work, b ? [h("span", { text: b.label }), b.share === null || b.share === undefined ? h("progress", { "aria-label": b.label }) : (() => { const p = h("progress", { max: "1", "aria-label": b.label }); p.value = b.share; return p; })(),
      b.stoppable ? button("Stop", () => ask("stop"), { "data-key": "stop", class: "ra-button ra-small" }) : null] : []);
  }
  const right = () => { const i = st.zones.findIndex((/** @type {Zone} */ z) => z.id === st.selected); ask("right", { zone: st.selected }).then(() => lookNext(i)); };
  function lookNext(from = st.zones.findIndex((/** @type {Zone} */ z) => z.id === st.selected)) { // the next proposed zone that wants a look, in reading order
    const n = st.zones.length, next = [...Array(n).keys()].map((i) => st.zones[(from + 1 + i) % n]).find((z) => z.faint);
    if (!next) { say("No proposed zone waits to be looked at."); return; }
    select(next.id); showZone(next.id); say(`Look at zone ${next.label}: ${next.sure}. Move it, take it away, or say that it is right (R).`); looked = true;
    /** @type {any} */ (ground.querySelector(`[data-id="${CSS.escape(next.id)}"]`))?.focus({ preventScroll: true });
  }
  function paintActs() {
    const z = zoneOf(st.selected);
    if (!editing) return;
    const act = (/** @type {string} */ word, /** @type {string} */ what, /** @type {string} */ title, off = false, cls = "") => button(word, () => { finishNudge(); ask(what, { zone: st.selected }); }, { title, disabled: off, class: `ra-button ra-small ${cls}`, "data-key": what });
    const doubtful = st.zones.filter((/** @type {Zone} */ o) => o.faint).length;
    const look = doubtful ? button(`Look at the next (${doubtful} doubtful)`, () => lookNext(), { class: "ra-button ra-small", "data-key": "look", title: "Proposed zones that are hardly sure, or cut through running writing (L)" }) : null;
    refill(acts, z ? [h("strong", { text: `Zone ${z.label || "–"}${z.home ? ` (drawn on ${z.home})` : ""}` }), z.sure ? h("span", { class: z.faint ? "pb-sure pb-warn" : "pb-sure", text: z.sure }) : null,
      z.sure ? button("It is right", right, { class: "ra-button ra-small", "data-key": "right", title: "The proposed zone is right as it is (R)" }) : null, look,
      act("Two signs joined here", "join_two", "This outline holds two signs written in one stroke"), act("One sign with the next zone", "merge_next", "The sign lies in this zone and the next"),
      act("Undo the joining", "unjoin", "Back to one sign for one zone", !z.joined), act("Delete the zone", "delete_zone", "Takes the zone away (Delete); can be undone", false, "ra-danger")]
      : [h("span", { class: "ra-hint", text: st.zones.length ? "Choose a zone to change it. Tab and Page Down walk through the zones." : st.photo ? "No zones yet: let the computer propose them, or draw round the first sign at the top of the right-hand column." : "Add a photograph to begin." }), look]);
  }
  const cards = sideCards({
    editing, ask, select, showZone, setMode, unmark, endBend, draw, now: () => st, mode: () => mode, marks: () => marks, forget: () => { marks = []; },
    band: (/** @type {number|undefined} */ v) => { if (v) { band = v; draw(); } return band; }, repaint: () => paintSide(),
  });
  let stale = false; // the field being typed in is never rebuilt
  function paintSide() {
    const at = /** @type {HTMLElement|null} */ (document.activeElement);
    if (at && side.contains(at) && at.matches("input") && (mode === "scale" || at.classList.contains("pb-text") || at.matches(":active"))) { stale = true; return; }
    stale = false;
    const kids = cards();
    refill(side, kids);
    side.hidden = !kids.length;
  }
  listen(side, "focusout", () => { if (stale) setTimeout(() => { if (stale) paintSide(); }, 0); });
  function paintTrouble() {
    trouble.hidden = !st.trouble;
    const now = trouble.dataset.told ?? "";
    if (now === (st.trouble ?? "")) return;
    trouble.dataset.told = st.trouble ?? "";
    trouble.replaceChildren(...(st.trouble ? [h("strong", { text: "The photograph cannot be shown" }), h("p", { text: st.trouble }), button("Try again", () => ask("again"), { class: "ra-button ra-main", "data-key": "again" })] : []));
  }

  // --- photographs from the reader's own disk, in pieces: one large message would cut the connection -----------------
  const PART = 1 << 20;
  async function send(/** @type {File[]} */ files) {
    for (const f of files) {
      const id = String(Math.random()).slice(2);
      for (let i = 0, n = Math.max(1, Math.ceil(f.size / PART)); i < n; i++) {
        const part = await f.slice(i * PART, (i + 1) * PART).arrayBuffer();
        await ask("receive", { id, name: f.name, at: i, of: n }, [part]);
      }
    }
    file.value = "";
  }
  if (editing) {
    listen(view, "dragover", (/** @type {DragEvent} */ e) => { if (e.dataTransfer?.types.includes("Files")) e.preventDefault(); });
    listen(view, "drop", (/** @type {DragEvent} */ e) => { if (e.dataTransfer?.files.length) { e.preventDefault(); e.stopPropagation(); send([...e.dataTransfer.files]); } });
  }

  // --- from Python -----------------------------------------------------------
  const bitmap = (/** @type {any} */ b) => createImageBitmap(new Blob([b], { type: "image/jpeg" }));
  async function takeOverview(/** @type {any} */ bytes, /** @type {number} */ mine) {
    if (!bytes?.byteLength) return;
    const b = await bitmap(bytes);
    if (mine !== layer) return b.close();
    overview?.close(); overview = b; draw();
  }
  on("overview", (/** @type {any} */ m, /** @type {any[]} */ buffers) => takeOverview(buffers[0], m.layer));
  on("tile", async (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    const key = `${m.layer}:${m.k.join(",")}`;
    stats.tiles++; stats.bytes += buffers[0].byteLength;
    const b = await bitmap(buffers[0]);
    const since = asked.get(key);
    if (since) stats.waits.push(performance.now() - since);
    asked.delete(key);
    if (m.layer !== layer) return b.close();
    tiles.get(key)?.close(); tiles.set(key, b);
    while (tiles.size > KEEP) { const old = /** @type {string} */ (tiles.keys().next().value); tiles.get(old)?.close(); tiles.delete(old); }
    draw();
  });
  on("go", (/** @type {any} */ m) => { showZone(m.zone); if (m.focus) /** @type {any} */ (ground.querySelector(`[data-id="${CSS.escape(m.zone)}"]`))?.focus({ preventScroll: true }); });
  show((now) => {
    if (!now || !now.tile) return;
    const other = now.photo !== st.photo, relayer = now.layer !== layer;
    const told = (/** @type {any} */ x) => JSON.stringify([x.columns, x.scale, x.selected, x.advice, x.advice_others, !x.zones.length, x.computed, x.about, x.question, x.corrections, x.ruler]);
    const same = told(now) === told(st), grown = now.zones.length > st.zones.length;
    st = now;
    if (proposing && grown && !other) { proposing = false; if (whole) fitZones(); }
    if (local && !drag && !nudge) local = null;
    if (other) { fitted = false; marks = []; if (mode !== "hand" && mode !== "draw") setMode("hand"); overview?.close(); overview = null; }
    if (relayer) {
      if (other) { for (const b of tiles.values()) b.close(); tiles.clear(); former = -1; } else if (!asked.size) former = layer;
      layer = now.layer; asked.clear(); 
      if (st.view === "plain" || st.view === "mirrored") takeOverview(model.get("overview"), layer);
      else if (!overview) ask("overview", { layer }); // what was sent before this page listened is lost
    }
    root.dataset.zones = String(st.zones.length);
    paintTools(); paintWork(); paintActs(); paintTrouble(); if (!same || other) paintSide();
    if (st.needs_letters) letters().then(redrawZones);
    redrawZones(); draw();
  });
  const watch = new ResizeObserver(() => { if (whole && fitted) fit(); else draw(); });
  watch.observe(view);
  view.dataset.mode = mode;
  return () => { watch.disconnect(); clearTimeout(nudge); cancelAnimationFrame(raf); tiles.forEach((b) => b.close()); overview?.close(); };
}

export default { render };
