// One sign: its crop, what it may be and how sure, what is damaged, and five ways to find a letter.
import { button, choice, confidence, field, fold, h, ja, oneOf, panel, refill, roving, wordFor } from "./kit.js";

const ROWS = ["あいうえお", "かきくけこ", "さしすせそ", "たちつてと", "なにぬねの", "はひふへほ", "まみむめも", "や　ゆ　よ", "らりるれろ", "わゐ　ゑを", "ん"];
const MARKS = [["ゝ", "repeats one kana"], ["〱", "repeats a group"], ["々", "repeats a kanji"], ["〻", "repeats a kanji word"], ["ゟ", "より"], ["ヿ", "こと"]];
/** @type {[string, string][]} */
const PLACES = [["", "anywhere"], ["left", "left (hen)"], ["right", "right (tsukuri)"], ["top", "top (kanmuri)"], ["bottom", "bottom (ashi)"], ["over the left", "over the left (tare)"], ["under the right", "under the right (nyō)"], ["around", "around (kamae)"], ["inside", "inside"], ["bottom left", "bottom left"], ["bottom right", "bottom right"]];

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { model, signal } = given;
  const { root, body, say, ask, on, show, letters } = panel(given, "cp", "The chosen sign");
  let st = /** @type {any} */ ({});
  let way = "sound", sound = "", part = "", partPlace = "";

  const head = h("div", { class: "ra-bar cp-head" });
  const crop = h("div", { class: "cp-crop" });
  const list = h("div", { class: "cp-list" });
  const now = h("div", { class: "cp-now", "aria-live": "polite" });
  const finder = h("div", { class: "cp-finder" });
  const damage = h("div", { class: "cp-damage" });
  const typed = field("Type it (Japanese input works; several letters become several candidates; Enter once more goes to the next sign)", () => {}, { lang: "ja", class: "ra-input cp-type", "aria-label": "Type the sign" });
  typed.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229 && !typed.composing()) { e.preventDefault(); add(); }
  });
  const add = () => { // Enter on the empty field goes on, so that a whole column is typed without the mouse
    const t = typed.input.value.trim();
    if (t) { ask("type", { text: t, confidence: st.sure }); typed.clear(); } else ask("step", { by: 1 });
  };
  const note = field("What was seen (strokes, traces, doubts)", (v) => ask("mark", { fields: { note: v } }), { rows: 2, lang: "ja" });
  const none = h("p", { class: "ra-hint", text: "Choose a zone on the photograph, or go to the first sign." });
  const main = h("div", { class: "cp-main" }, h("div", { class: "cp-top" }, crop, h("div", { class: "cp-right" }, h("h3", { text: "What it may be" }), list, now)),
    finder, damage, note.box);
  body.append(head, none, main);

  function paintHead() {
    refill(head, button("◂ Earlier sign", () => ask("step", { by: -1 }), { "data-key": "prev", disabled: !st.total }),
      h("strong", { class: "cp-which", text: st.character ? `Sign ${st.n} of ${st.total}` : "No sign chosen" }),
      button("Next sign ▸", () => ask("step", { by: 1 }), { "data-key": "next", disabled: !st.total, class: "ra-button ra-main" }),
      st.inside?.length > 1 ? h("span", { class: "ra-group" }, h("span", { class: "ra-hint", text: "In this zone:" }), oneOf("Sign in this zone", st.inside, st.character, (v) => ask("choose", { character: v }), "inside")) : null);
  }
  function paintList() {
    const rows = st.candidates.map((/** @type {any} */ c) => h("div", { class: "cp-cand", role: "group", "aria-label": `Candidate ${c.character}` },
      h("div", { class: "cp-glyph" }, ja(c.character), h("small", {}, ja(c.about, ""))),
      h("div", { class: "cp-sure" }, oneOf(`How sure of ${c.character}`, st.values.map((/** @type {any} */ [w]) => [w, w]), wordFor(c.confidence, st.words), (w) => ask("sure", { candidate: c.character, confidence: st.values.find((/** @type {any} */ v) => v[0] === w)[1] }), `w-${c.character}`),
        confidence(`How sure of ${c.character}, 0 to 1`, c.confidence, st.words, (v) => ask("sure", { candidate: c.character, confidence: v }), `s-${c.character}`, true),
        c.probability === null ? null : h("small", { text: `by shape ${Math.round(c.probability * 100)} %` }), c.after === null ? null : h("small", { text: `with its neighbours ${c.after}` })),
      button("✕", () => ask("untag", { candidate: c.character }), { class: "ra-button ra-small cp-away", title: "Take away", "aria-label": `Take ${c.character} away`, "data-key": `x-${c.character}` })));
    refill(now, st.now?.length ? [h("span", { class: "ra-label", text: "Best reading now" }), h("span", { class: "ra-ja cp-nowtext", lang: "ja" },
      st.now.map((/** @type {[string, boolean]} */ [text, supplied]) => h("span", supplied ? { class: "cp-supplied", title: "supplied, not seen", text } : { text })))] : []);
    refill(list, rows.length ? rows : h("p", { class: "ra-hint", text: "Nothing yet. Pick a letter below: by its sound, by its parent kanji, by typing, or by its shape. Enter as many as you think possible." }));
  }

  /** A letter to pick. @param {any} l */
  const card = (l) => h("button", { type: "button", class: "ra-button cp-card", "data-key": `l-${l.character}`, title: l.title, "aria-label": l.title, tabindex: "-1", "aria-pressed": String(st.candidates.some((/** @type {any} */ c) => c.character === l.character)),
    onclick: () => ask("tag", { candidate: l.character, confidence: st.sure, source: l.source ?? "reader", probability: l.probability ?? null }) }, l.picture ? h("img", { src: l.picture, alt: "", class: "cp-ref" }) : null, ja(l.character, "ra-ja cp-big"), h("small", {}, ja(l.under, "")));
  const cards = (/** @type {any[]} */ rows, /** @type {string} */ label) => { const box = h("div", { class: "cp-cards", role: "group", "aria-label": label }, rows.map(card)); const first = box.querySelector("button"); if (first) first.tabIndex = 0; roving(box, "button", signal); return box; };

  function paintFinder() {
    if (way === "type" && finder.contains(typed.input) && document.activeElement === typed.input) return; // taking the field out would end a conversion
    const pickWay = (/** @type {string} */ w) => { way = w; paintFinder(); if (w === "shape" && st.shape.state === "none") ask("shape"); if (w === "type") typed.input.focus(); };
    const kids = [h("div", { class: "ra-bar cp-ways" }, h("h3", { text: "Find the letter" }),
      oneOf("Find the letter", [["sound", "By sound"], ["parent", "By parent kanji"], ["part", "By part"], ["type", "Type it"], ["shape", "By shape"]], way, pickWay, "way"),
      h("span", { class: "ra-gap" }), h("label", { class: "ra-group" }, h("span", { class: "ra-label", text: "Enter it as" }), (() => {
        const sel = h("select", { class: "ra-input", "aria-label": "How sure a new candidate is", "data-key": "sure", onchange: () => ask("as", { confidence: +sel.value }) }, st.values.map((/** @type {any} */ [w, v]) => { const o = h("option", { text: w }); o.value = String(v); o.selected = v === st.sure; return o; }));
        return sel; })()))];
    if (way === "sound") {
      const grid = h("div", { class: "cp-kana", role: "group", "aria-label": "Sounds" }, ROWS.map((r) => h("div", { class: "cp-kanacol" }, [...r].map((k) => k === "　" ? h("span", { class: "cp-hole" }) :
        h("button", { type: "button", class: "ra-button cp-k", lang: "ja", tabindex: k === (sound || "あ") ? "0" : "-1", "data-key": `k-${k}`, "aria-pressed": String(k === sound), onclick: () => { sound = k; ask("by_sound", { sound: k }); } }, k)))));
      grid.addEventListener("keydown", (e) => {
        const keys = [...grid.querySelectorAll("button")], here = /** @type {HTMLElement} */ (document.activeElement), r = here.getBoundingClientRect();
        const d = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] }[e.key];
        if (!d || !keys.includes(/** @type {any} */ (here))) return;
        e.preventDefault();
        const next = keys.map((b) => ({ b, q: b.getBoundingClientRect() })).filter(({ q }) => (d[0] ? (q.left - r.left) * d[0] > 5 && Math.abs(q.top - r.top) < 5 : (q.top - r.top) * d[1] > 5 && Math.abs(q.left - r.left) < 5))
          .sort((a, b) => Math.hypot(a.q.left - r.left, a.q.top - r.top) - Math.hypot(b.q.left - r.left, b.q.top - r.top))[0];
        if (next) { here.tabIndex = -1; next.b.tabIndex = 0; next.b.focus(); }
      });
      kids.push(grid, h("div", { class: "ra-group cp-marks" }, h("span", { class: "ra-label", text: "Marks" }), MARKS.map(([m, t]) => h("button", { type: "button", class: "ra-button cp-mark", lang: "ja", title: t, "aria-label": `${m}, ${t}`, onclick: () => ask("tag", { candidate: m, confidence: st.sure }) }, m))));
      if (st.found?.by === "sound") kids.push(h("p", { class: "ra-hint", text: st.found.words }), cards(st.found.rows, "Letters of this sound"));
    } else if (way === "parent") {
      const f = field("Parent kanji, old or new form (加, 可, 閑 …)", () => {}, { lang: "ja", size: "10" });
      const go = () => { if (f.input.value.trim()) ask("by_parent", { parent: f.input.value.trim() }); };
      f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => { if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) go(); });
      kids.push(h("div", { class: "ra-group cp-line" }, f.box, button("Find", go, { class: "ra-button ra-main" })));
      if (st.found?.by === "parent") kids.push(h("p", { class: "ra-hint", text: st.found.words }), cards(st.found.rows, "Letters from this kanji"));
    } else if (way === "part") {
      const f = field("Part that can be seen (氵, 木, 寺, water …)", (/** @type {string} */ v) => { part = v; }, { size: "10" });
      f.input.value = part;
      const go = () => { part = f.input.value.trim(); if (part) ask("by_part", { part, place: partPlace }); };
      f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => { if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) go(); });
      kids.push(h("div", { class: "ra-group cp-line" }, f.box, choice("Where it stands", PLACES, partPlace, (v) => { partPlace = v; if (f.input.value.trim()) go(); }, { "data-key": "part-place" }), button("Find", go, { class: "ra-button ra-main" })));
      if (st.found?.by === "part") kids.push(h("p", { class: "ra-hint", text: st.found.words }), cards(st.found.rows, "Kanji with this part"));
    } else if (way === "type") {
      kids.push(h("div", { class: "ra-group cp-line" }, typed.box, button("Enter", add, { class: "ra-button ra-main" })));
    } else {
      const s = st.shape;
      kids.push(h("div", { class: "ra-group cp-line" }, oneOf("Among", [["all", "All letters"], ["kana", "Kana only"], ["kanji", "Kanji only"]], s.among, (v) => ask("shape", { among: v }), "among"), button("Look again", () => ask("shape"), { "data-key": "again", disabled: s.state === "absent" })),
        h("p", { class: "ra-hint", text: s.words }));
      kids.push(h("div", { class: "ra-group cp-learn" }, button(st.candidates.length ? `Remember this crop as ${st.candidates[0].character}` : "Remember this crop", () => ask("learn"), { class: "ra-button ra-small", "data-key": "learn", disabled: !st.candidates.length }), h("small", { text: st.examples ? `${st.examples} of your own crops are remembered.` : "Crops you remember make the proposals better at once." })));
      if (s.rows?.length) kids.push(cards(s.rows, "Letters of similar shape"));
    }
    if (finder.contains(document.activeElement) && /** @type {HTMLElement} */ (document.activeElement).matches("input[type=text]")) {
      const was = /** @type {HTMLInputElement} */ (document.activeElement), text = was.value, label = was.closest("label")?.textContent;
      refill(finder, kids);
      const again = [...finder.querySelectorAll("input[type=text]")].find((i) => i.closest("label")?.textContent === label);
      if (again) { /** @type {HTMLInputElement} */ (again).value = text; /** @type {HTMLElement} */ (again).focus(); }
      return;
    }
    refill(finder, kids);
  }
  function paintDamage() {
    const number = (/** @type {string} */ label, /** @type {number} */ v, /** @type {string} */ key) => { const i = h("input", { type: "number", min: "0", max: "30", class: "ra-input cp-num", "aria-label": label, "data-key": key, value: String(v), onchange: () => {
      const low = /** @type {HTMLInputElement} */ (damage.querySelector("[data-key=low]")), high = /** @type {HTMLInputElement} */ (damage.querySelector("[data-key=high]"));
      ask("mark", { fields: { missing: [+low.value, Math.max(+low.value, +high.value)] } }); } }); return i; };
    refill(damage, h("h3", { text: "What survives" }), h("div", { class: "ra-group" }, oneOf("What survives", st.damages, st.damage, (v) => ask("mark", { fields: { damage: v } }), "damage"),
      st.damage === "lost" || st.missing[1] !== 1 || st.missing[0] !== 1 ? h("span", { class: "ra-group" }, h("span", { class: "ra-label", text: "Signs missing here: from" }), number("Least number of signs missing", st.missing[0], "low"), h("span", { class: "ra-label", text: "to" }), number("Most signs missing", st.missing[1], "high")) : null),
      h("small", { text: "How much survives is one thing, how sure you are of the letter another. Traces: something is seen, but no sign can be told." }));
  }

  show((state) => {
    if (!state?.words) return;
    const other = state.character !== st.character;
    st = state;
    none.hidden = Boolean(st.character); main.hidden = !st.character;
    paintHead();
    if (!st.character) return;
    paintList(); paintFinder(); paintDamage(); note.put(st.note);
    if (other) { note.clear(); note.input.value = st.note; if (way === "shape") ask("shape"); }
    root.dataset.character = st.character;
    letters();
  });
  let url = "";
  const paintCrop = () => {
    const bytes = model.get("crop");
    if (url) URL.revokeObjectURL(url);
    if (!bytes?.byteLength) return crop.replaceChildren();
    url = URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" }));
    crop.replaceChildren(h("img", { src: url, alt: "The chosen sign on the photograph" }),
      h("div", { class: "ra-group" }, button("Closer", () => ask("around", { by: -1 }), { class: "ra-button ra-small" }), button("More around it", () => ask("around", { by: 1 }), { class: "ra-button ra-small" })));
  };
  model.on("change:crop", paintCrop);
  paintCrop();
  signal.addEventListener("abort", () => { if (url) URL.revokeObjectURL(url); model.off("change:crop", paintCrop); });
}

export default { render };
