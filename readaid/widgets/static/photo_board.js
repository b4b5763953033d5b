// The photograph on its mat, put together from its parts: view, marks, hand, light, and the cards beside it.
import { button, h, panel, refill, s } from "./kit.js";
import { Cards } from "./mat_cards.js";
import { Hand } from "./mat_hand.js";
import { Light } from "./mat_light.js";
import { Marks } from "./mat_marks.js";
import { View } from "./mat_view.js";

let filters = 0;

/** The elements of the mat. @param {any} m */
function skeleton(m) {
  const canvas = h("canvas", { "aria-hidden": "true" }),
    mini = h("canvas", { class: "pb-small", hidden: true, "aria-hidden": "true" });
  const svg = s("svg", {
    class: "pb-marks",
    role: "listbox",
    "aria-label": "Zones in reading order",
    "aria-multiselectable": "true",
  });
  const id = `pb-tone-${++filters}`;
  m.curve = s(
    "svg",
    { class: "ra-sr", "aria-hidden": "true" },
    s(
      "filter",
      { id, "color-interpolation-filters": "sRGB" },
      s(
        "feComponentTransfer",
        {},
        ["feFuncR", "feFuncG", "feFuncB"].map((n) => s(n, { type: "gamma", exponent: "1", "data-gamma": "1" })),
      ),
    ),
  );
  m.canvas = canvas;
  m.host = h(
    "div",
    {
      class: "pb-view",
      tabindex: "0",
      role: "application",
      "aria-roledescription": "photograph board",
      "aria-label":
        "Photograph. Arrows move it, plus and minus zoom, 0 shows the whole, digits light the lamps, Page Down goes to the next zone.",
    },
    canvas,
    svg,
    mini,
  );
  m.side = h("div", { class: "pb-side", tabindex: "-1" });
  m.work = h("div", { class: "pb-work", role: "group", "aria-label": "Running work" });
  m.trouble = h("div", { class: "pb-trouble", role: "alert", hidden: true });
  m.area = h(
    "div",
    { class: "pb-mat" },
    m.host,
    m.work,
    m.trouble,
    m.root.querySelector(".ra-fault"),
    m.root.querySelector(".ra-foot"),
    m.curve,
  );
  m.body.append(m.area, m.side);
  return { canvas, mini, svg };
}

/** What the parts ask of the whole. @param {any} m */
function whole(m) {
  m.changing = () => m.editing && m.st.stage === "marks" && m.mode === "hand";
  m.alone = () => document.body.classList.contains("readaid-desk");
  m.painted = () => {
    m.light.zoom.textContent = `${Math.round(m.view.k * 100)} %`;
  };
  m.choose = (/** @type {string} */ id) => {
    // one of several, by Shift and a click; what was chosen alone goes along
    if (!m.marks.several.size && m.st.selected && m.st.selected !== id) m.marks.several.add(m.st.selected);
    if (!m.marks.several.delete(id)) m.marks.several.add(id);
    m.marks.paint();
    m.cards.paint();
  };
  m.let = () => {
    if (m.marks.several.size) {
      m.marks.several.clear();
      m.marks.paint();
      m.cards.paint();
    }
  };
  m.onScreen = () => {
    const { view, st } = m,
      [w, hh] = view.inside(),
      a = view.pixel(0, 0),
      b = view.pixel(w, hh);
    const x0 = Math.max(0, Math.round(Math.min(a[0], b[0]))),
      y0 = Math.max(0, Math.round(Math.min(a[1], b[1])));
    const box = [
      x0,
      y0,
      Math.min(st.width, Math.round(Math.max(a[0], b[0]))) - x0,
      Math.min(st.height, Math.round(Math.max(a[1], b[1]))) - y0,
    ];
    return view.whole || box[2] < 8 || box[3] < 8 ? null : box;
  };
}

/** @param {any} m */
function paintWork(m) {
  const b = m.st.busy;
  const bar = () => {
    const p = h("progress", { max: "1", "aria-label": b.label });
    if (b.share !== null && b.share !== undefined) p.value = b.share;
    return p;
  };
  refill(
    m.work,
    b
      ? [
          h("span", { text: b.label }),
          bar(),
          b.stoppable ? button("Stop", () => m.ask("stop"), { "data-key": "stop", class: "ra-button ra-small" }) : null,
        ]
      : [],
  );
}
/** @param {any} m */
function paintTrouble(m) {
  const told = m.st.trouble ?? "";
  m.trouble.hidden = !told;
  if ((m.trouble.dataset.told ?? "") === told) return;
  m.trouble.dataset.told = told;
  m.trouble.replaceChildren(
    ...(told
      ? [
          h("strong", { text: "The photograph cannot be shown" }),
          h("p", { text: told }),
          button("Try again", () => m.ask("again"), { class: "ra-button ra-main", "data-key": "again" }),
        ]
      : []),
  );
}

/** A new state of the desk. @param {any} m @param {any} now @param {any} model */
function take(m, now, model) {
  if (!now?.tile) return;
  const was = m.st,
    other = now.photo !== was.photo,
    relayer = now.layer !== m.view.layer,
    moved = now.stage !== was.stage;
  const cards = (/** @type {any} */ x) =>
    JSON.stringify([
      x.stage,
      x.zones.length,
      x.zones.find((/** @type {any} */ z) => z.id === x.selected),
      x.zones.filter((/** @type {any} */ z) => z.faint).length,
      x.photos,
      x.scale,
      x.selected,
      x.advice,
      x.computed,
      x.about,
      x.question,
      x.corrections,
      x.ruler,
      x.inscription,
      x.inscriptions,
      x.kind,
      x.busy,
      x.trouble,
      x.over,
    ]);
  const same = cards(now) === cards(was),
    grown = now.zones.length > was.zones.length;
  m.st = now;
  if (m.marks.local && !m.hand.drag && !m.hand.nudge) m.marks.local = null;
  if (moved && m.mode !== "hand") m.hand.setMode("hand", true);
  if (moved && now.stage === "reading" && was.stage && m.view.whole && m.view.fitted)
    setTimeout(() => m.view.fitZones(), 0); // signs are read near
  if (relayer) {
    m.view.relayer(now.layer, other);
    if (model.get("overview_layer") === now.layer) m.view.takeOverview(model.get("overview"), now.layer);
    else if (other || !m.view.overviews.has(now.layer)) m.ask("overview", { layer: now.layer }); // what was sent before this page listened is lost
  }
  if (other) {
    m.hand.points = [];
    if (m.mode !== "hand" && m.mode !== "draw") m.hand.setMode("hand", true);
    m.view.follow(was.companions?.find((/** @type {any} */ c) => c.id === now.photo)?.frame ?? null, was);
    m.light.changed(was);
  }
  if (m.proposing && grown && !other) {
    m.proposing = false;
    if (m.view.whole) m.view.fitZones();
  }
  m.root.dataset.zones = String(now.zones.length);
  m.marks.paint();
  m.light.paint();
  paintWork(m);
  paintTrouble(m);
  if (!same || moved || other) m.cards.paint();
  if (!other && now.selected !== was.selected && now.selected && m.view.fitted) m.view.showZone(now.selected);
  m.view.draw();
  setTimeout(() => m.light.foresee(), 400);
}

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { model, signal } = given;
  const m = /** @type {any} */ ({
    ...panel(given, "pb", "The photograph"),
    signal,
    editing: model.get("editing"),
    mode: "hand",
    looked: false,
    proposing: false,
  });
  m.st = { zones: [], photos: [], companions: [], width: 1, height: 1 };
  const { canvas, mini, svg } = skeleton(m);
  whole(m);
  m.view = new View(m, m.host, canvas, mini);
  m.marks = new Marks(m, svg);
  m.light = new Light(m);
  m.hand = new Hand(m);
  m.cards = new Cards(m, m.side);
  m.root.boardStats = m.view.stats;
  m.view.listen();
  m.hand.listen();
  m.hand.setMode("hand", true);
  m.marks.show("ticks");
  m.on("go", (/** @type {any} */ x) => {
    m.view.showZone(x.zone);
    if (x.focus) m.marks.focus(x.zone);
  });
  if (m.editing) {
    m.host.addEventListener(
      "dragover",
      (/** @type {DragEvent} */ e) => {
        if (e.dataTransfer?.types.includes("Files")) e.preventDefault();
      },
      { signal },
    );
    m.host.addEventListener(
      "drop",
      (/** @type {DragEvent} */ e) => {
        if (e.dataTransfer?.files.length) {
          e.preventDefault();
          e.stopPropagation();
          m.cards.send([...e.dataTransfer.files]);
        }
      },
      { signal },
    );
  }
  document.addEventListener(
    "keydown",
    (e) => {
      // a lamp from anywhere on the bench, the hand need not leave the sign
      if (
        e.altKey &&
        !e.ctrlKey &&
        !e.metaKey &&
        m.root.closest(".ra-bench")?.contains(document.activeElement) &&
        (e.code?.startsWith("Digit") || e.key === " ") &&
        m.light.key(e)
      ) {
        e.preventDefault();
        e.stopPropagation();
      }
    },
    { signal, capture: true },
  );
  m.show((/** @type {any} */ now) => take(m, now, model));
  const watch = new ResizeObserver(() => {
    if (m.view.whole && m.view.fitted) m.view.fit();
    else m.view.draw();
    m.light.paintTicks();
  });
  watch.observe(m.host);
  m.letters();
  return () => {
    watch.disconnect();
    clearTimeout(m.hand.nudge);
    m.view.close();
  };
}

export default { render };
