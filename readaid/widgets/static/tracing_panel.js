// Strokes traced over a sign: drawn by hand, or proposed from the middle lines; kept as vectors.
import { button, h, panel, refill, s } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { model, signal } = given;
  const { root, body, ask, show, say } = panel(given, "np", "Trace the strokes");
  let st = /** @type {any} */ ({}), mode = "draw", strokes = /** @type {[number,number][][]} */ ([]), mine = false, running = /** @type {[number,number][]|null} */ (null), url = "";
  const bar = h("div", { class: "ra-bar", role: "toolbar", "aria-label": "Tracing tools" });
  const img = h("img", { alt: "The chosen sign, to be traced", class: "np-crop", draggable: "false" });
  const svg = s("svg", { class: "np-lines", "aria-hidden": "true" });
  const sheet = h("div", { class: "np-sheet", tabindex: "0", role: "application", "aria-roledescription": "tracing sheet", "aria-label": "Tracing sheet: draw with pointer or pen; Backspace takes the last stroke away" }, img, svg);
  const words = h("p", { class: "ra-hint" });
  body.append(bar, sheet, words);

  const listen = (/** @type {any} */ t, /** @type {string} */ n, /** @type {any} */ f) => t.addEventListener(n, f, { signal });
  const at = (/** @type {PointerEvent} */ e) => { const r = svg.getBoundingClientRect(); return /** @type {[number,number]} */ ([((e.clientX - r.left) / r.width) * st.width, ((e.clientY - r.top) / r.height) * st.height]); };
  const near = (/** @type {[number,number]} */ p) => { let best = -1, least = Math.max(st.width, st.height) / 25; strokes.forEach((q, i) => q.forEach((x) => { const d = Math.hypot(x[0] - p[0], x[1] - p[1]); if (d < least) { least = d; best = i; } })); return best; };
  listen(sheet, "pointerdown", (/** @type {PointerEvent} */ e) => {
    if (!st.zone || st.locked) return;
    e.preventDefault(); sheet.focus({ preventScroll: true });
    if (mode === "erase") { const i = near(at(e)); if (i >= 0) { strokes.splice(i, 1); mine = true; draw(); paintBar(); } return; }
    sheet.setPointerCapture(e.pointerId); running = [at(e)]; draw();
  });
  listen(sheet, "pointermove", (/** @type {PointerEvent} */ e) => { if (!running) return; const p = at(e), last = running[running.length - 1]; if (Math.hypot(p[0] - last[0], p[1] - last[1]) > st.width / 150) { running.push(p); draw(); } });
  const up = () => { if (!running) return; strokes.push(running); running = null; mine = true; draw(); paintBar(); };
  listen(sheet, "pointerup", up); listen(sheet, "pointercancel", up);
  listen(sheet, "keydown", (/** @type {KeyboardEvent} */ e) => { if (e.key === "Backspace" || e.key === "Delete") { e.preventDefault(); strokes.pop(); mine = true; draw(); paintBar(); } });

  function draw() {
    svg.setAttribute("viewBox", `0 0 ${st.width || 1} ${st.height || 1}`);
    const thick = Math.max(st.width, st.height) / 70;
    refill(svg, [...strokes, ...(running ? [running] : [])].map((q) => q.length === 1 ? s("circle", { cx: q[0][0], cy: q[0][1], r: thick * 0.9, class: "np-dot" }) : [s("polyline", { points: q.map((p) => p.join(",")).join(" "), class: "np-under", "stroke-width": thick * 1.9 }), s("polyline", { points: q.map((p) => p.join(",")).join(" "), class: "np-stroke", "stroke-width": thick })]));
    root.dataset.strokes = String(strokes.length);
  }
  function paintBar() {
    const tool = (/** @type {string} */ word, /** @type {string} */ m) => button(word, () => { mode = m; sheet.dataset.mode = m; paintBar(); }, { "aria-pressed": String(mode === m), "data-key": `m-${m}`, disabled: !st.zone });
    refill(bar, tool("Draw", "draw"), tool("Rub out a stroke", "erase"), button("Propose by computer", () => ask("propose"), { disabled: !st.zone, "data-key": "prop" }), button("Clear", () => { strokes = []; mine = true; draw(); paintBar(); }, { disabled: !strokes.length, "data-key": "clear" }), h("span", { class: "ra-gap" }),
      button("Keep the tracing", () => ask("keep", { strokes, mine }).then(() => { mine = false; }), { class: "ra-button ra-main", disabled: !strokes.length || st.locked, "data-key": "keep" }));
    words.textContent = st.words ?? "";
  }
  show((now) => {
    if (!now?.ready) return;
    const other = now.turn !== st.turn;
    st = now;
    if (other) { strokes = st.strokes.map((/** @type {any} */ q) => q.map((/** @type {any} */ p) => [...p])); mine = false; }
    sheet.hidden = !st.zone;
    draw(); paintBar();
  });
  const paint = () => { const bytes = model.get("crop"); if (url) URL.revokeObjectURL(url); url = bytes?.byteLength ? URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" })) : ""; if (url) img.src = url; else img.removeAttribute("src"); };
  model.on("change:crop", paint);
  paint();
  signal.addEventListener("abort", () => { if (url) URL.revokeObjectURL(url); model.off("change:crop", paint); });
  void say;
}

export default { render };
