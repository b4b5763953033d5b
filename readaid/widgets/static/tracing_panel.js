// Strokes traced over a sign: drawn by hand, or proposed from the middle lines; kept as vectors.
import { button, choice, h, panel, refill, s } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { model, signal } = given;
  const { root, body, ask, show, say } = panel(given, "np", "Trace the strokes");
  let st = /** @type {any} */ ({}),
    mode = "draw",
    strokes = /** @type {[number,number][][]} */ ([]),
    mine = false,
    running = /** @type {[number,number][]|null} */ (null),
    url = "";
  // What was on the sheet before each step, and what was taken back: undo brings a rubbed-out stroke back, too.
  const drafts = /** @type {Map<string, [number,number][][]>} */ (new Map());
  let before = /** @type {[number,number][][][]} */ ([]),
    after = /** @type {[number,number][][][]} */ ([]),
    chosen = -1,
    bare = false;
  const bar = h("div", { class: "ra-bar", role: "toolbar", "aria-label": "Tracing tools" });
  const looks = h("div", { class: "ra-group np-looks" });
  const img = h("img", { alt: "The chosen sign, to be traced", class: "np-crop", draggable: "false" });
  const svg = s("svg", { class: "np-lines", "aria-hidden": "true" });
  const sheet = h(
    "div",
    {
      class: "np-sheet",
      tabindex: "0",
      "data-own-undo": "1",
      role: "application",
      "aria-roledescription": "tracing sheet",
      "aria-label":
        "Tracing sheet: draw with pointer or pen; Backspace takes the last stroke away, left and right arrow choose a stroke, Delete rubs it out, Control Z undoes",
    },
    img,
    svg,
  );
  const words = h("p", { class: "ra-hint" });
  body.append(bar, looks, sheet, words);
  /** One step that can be taken back. @param {[number,number][][]} now */
  const step = (now) => {
    before.push(strokes);
    after = [];
    strokes = now;
    mine = true;
    chosen = -1;
    draw();
    paintBar();
  };
  const undo = () => {
    const was = before.pop();
    if (!was) return;
    after.push(strokes);
    strokes = was;
    mine = true;
    chosen = -1;
    draw();
    paintBar();
    say(`Undone; ${count()}.`, "quiet");
  };
  const redo = () => {
    const was = after.pop();
    if (!was) return;
    before.push(strokes);
    strokes = was;
    mine = true;
    chosen = -1;
    draw();
    paintBar();
    say(`Done again; ${count()}.`, "quiet");
  };
  const back = () => {
    root.closest(".ra-bench")?.classList.remove("ra-traced");
  };
  const count = () => `${strokes.length} stroke${strokes.length === 1 ? "" : "s"}`;
  const without = (/** @type {number} */ i) => step(strokes.filter((_, n) => n !== i));

  const listen = (/** @type {any} */ t, /** @type {string} */ n, /** @type {any} */ f) =>
    t.addEventListener(n, f, { signal });
  const at = (/** @type {PointerEvent} */ e) => {
    const r = svg.getBoundingClientRect();
    return /** @type {[number,number]} */ ([
      ((e.clientX - r.left) / r.width) * st.width,
      ((e.clientY - r.top) / r.height) * st.height,
    ]);
  };
  const near = (/** @type {[number,number]} */ p) => {
    let best = -1,
      least = Math.max(st.width, st.height) / 25;
    strokes.forEach((q, i) =>
      q.forEach((x) => {
        const d = Math.hypot(x[0] - p[0], x[1] - p[1]);
        if (d < least) {
          least = d;
          best = i;
        }
      }),
    );
    return best;
  };
  listen(sheet, "pointerdown", (/** @type {PointerEvent} */ e) => {
    if (!st.zone || st.locked) return;
    e.preventDefault();
    sheet.focus({ preventScroll: true });
    if (e.button) return;
    if (mode === "erase") {
      const i = near(at(e));
      if (i >= 0) without(i);
      return;
    }
    sheet.setPointerCapture(e.pointerId);
    running = [at(e)];
    draw();
  });
  listen(sheet, "pointermove", (/** @type {PointerEvent} */ e) => {
    if (!running) return;
    const p = at(e),
      last = running[running.length - 1];
    if (Math.hypot(p[0] - last[0], p[1] - last[1]) > st.width / 150) {
      running.push(p);
      draw();
    }
  });
  const up = () => {
    if (!running) return;
    const made = running;
    running = null;
    step([...strokes, made]);
  };
  listen(sheet, "pointerup", up);
  listen(sheet, "pointercancel", up);
  listen(sheet, "keydown", (/** @type {KeyboardEvent} */ e) => {
    const mod = e.ctrlKey || e.metaKey,
      way = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
    if (mod && e.key.toLowerCase() === "z") {
      e.preventDefault();
      e.shiftKey ? redo() : undo();
    } else if (mod && e.key.toLowerCase() === "y") {
      e.preventDefault();
      redo();
    } else if ((e.key === "Backspace" || e.key === "Delete") && strokes.length && !st.locked) {
      e.preventDefault();
      without(chosen >= 0 ? chosen : strokes.length - 1);
    } else if (way && strokes.length) {
      e.preventDefault();
      chosen = ((chosen < 0 ? (way > 0 ? -1 : 0) : chosen) + way + strokes.length) % strokes.length;
      draw();
      say(`Stroke ${chosen + 1} of ${strokes.length}.`, "quiet");
    } else if (e.key === "PageDown" || e.key === "PageUp") {
      e.preventDefault();
      ask("step", { by: e.key === "PageDown" ? 1 : -1 });
    } else if (e.key === "Escape") {
      if (chosen < 0 && !running) back();
      chosen = -1;
      running = null;
      draw();
    }
  });

  function draw() {
    svg.setAttribute("viewBox", `0 0 ${st.width || 1} ${st.height || 1}`);
    const thick = Math.max(st.width, st.height) / 70;
    img.classList.toggle("np-bare", bare);
    refill(
      svg,
      [...strokes, ...(running ? [running] : [])].map((q, i) =>
        q.length === 1
          ? s("circle", {
              cx: q[0][0],
              cy: q[0][1],
              r: thick * 0.9,
              class: i === chosen ? "np-dot np-chosen" : "np-dot",
            })
          : [
              s("polyline", {
                points: q.map((p) => p.join(",")).join(" "),
                class: "np-under",
                "stroke-width": thick * 1.9,
              }),
              s("polyline", {
                points: q.map((p) => p.join(",")).join(" "),
                class: i === chosen ? "np-stroke np-chosen" : "np-stroke",
                "stroke-width": thick,
              }),
            ],
      ),
    );
    root.dataset.strokes = String(strokes.length);
  }
  function paintBar() {
    const tool = (/** @type {string} */ word, /** @type {string} */ m) =>
      button(
        word,
        () => {
          mode = m;
          sheet.dataset.mode = m;
          paintBar();
        },
        { "aria-pressed": String(mode === m), "data-key": `m-${m}`, disabled: !st.zone },
      );
    const taking = !strokes.length && st.kept > 0;
    refill(
      bar,
      tool("Draw", "draw"),
      tool("Rub out a stroke", "erase"),
      button("Undo", undo, { disabled: !before.length, "data-key": "undo" }),
      button("Redo", redo, { disabled: !after.length, "data-key": "redo" }),
      button("Propose by computer", () => ask("propose"), { disabled: !st.zone || st.locked, "data-key": "prop" }),
      button("Clear", () => step([]), { disabled: !strokes.length || st.locked, "data-key": "clear" }),
      button(
        "Strokes alone",
        () => {
          bare = !bare;
          draw();
          paintBar();
        },
        { "aria-pressed": String(bare), disabled: !st.zone, "data-key": "bare" },
      ),
      h("span", { class: "ra-gap" }),
      h("span", { class: "ra-hint", text: st.zone ? count() : "" }),
      button(
        taking ? "Take the tracing away" : "Keep the tracing",
        () =>
          ask("keep", { strokes, mine }).then(() => {
            mine = false;
          }),
        {
          class: taking ? "ra-button ra-danger" : "ra-button ra-main",
          disabled: !(strokes.length || taking) || st.locked,
          "data-key": "keep",
        },
      ),
    );
    const k = st.look;
    refill(
      looks,
      button("◂ Back to the sign", back, {
        class: "ra-button ra-small",
        "data-key": "trace-back",
        title: "Back to the sign (Escape)",
      }),
      k
        ? [
            k.photos.length > 1
              ? choice("Traced over", k.photos, k.photo, (v) => ask("look", { photo: v }), { "data-key": "np-photo" })
              : null,
            choice("Seen through", k.views, k.view, (v) => ask("look", { view: v }), { "data-key": "np-view" }),
          ]
        : [],
    );
    words.textContent = st.words ?? "";
  }
  show((now) => {
    if (!now?.ready) return;
    const other = now.turn !== st.turn,
      went = now.zone !== st.zone;
    if (went && mine && st.zone) drafts.set(st.zone, strokes); // strokes not yet kept wait until the reader comes back
    st = now;
    if (other) {
      strokes = st.strokes.map((/** @type {any} */ q) => q.map((/** @type {any} */ p) => [...p]));
      mine = false;
      before = [];
      after = [];
      chosen = -1;
      running = null;
    }
    const draft = went ? drafts.get(st.zone) : null;
    if (draft) {
      drafts.delete(st.zone);
      step(draft);
      say("Strokes that were not kept are here again.", "quiet");
    }
    sheet.hidden = !st.zone;
    draw();
    paintBar();
  });
  const paint = () => {
    const bytes = model.get("crop");
    if (url) URL.revokeObjectURL(url);
    url = bytes?.byteLength ? URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" })) : "";
    if (url) img.src = url;
    else img.removeAttribute("src");
  };
  model.on("change:crop", paint);
  paint();
  signal.addEventListener("abort", () => {
    if (url) URL.revokeObjectURL(url);
    model.off("change:crop", paint);
  });
}

export default { render };
