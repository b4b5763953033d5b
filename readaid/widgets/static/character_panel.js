// One sign: its crop, what it may be and how sure, what is damaged, and six ways to find a letter.
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
  let way = "sound", sound = "", part = "", partPlace = "", alike = "", parent = "";

  const head = h("div", { class: "ra-bar cp-head" });
  const crop = h("div", { class: "cp-crop" }), cropPicture = h("div", {}), looks = h("div", { class: "cp-looks" });
  crop.append(cropPicture, looks);
  const list = h("div", { class: "cp-list" });
  const now = h("div", { class: "cp-now", "aria-live": "polite" });
  const asking = h("div", {}), results = h("div", {}), finder = h("div", { class: "cp-finder" }, asking, results);
  let lastKey = "";
  asking.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => { lastKey = e.key; }, { capture: true, signal });
  asking.addEventListener("pointerdown", () => { lastKey = ""; }, { capture: true, signal });
  let asked = ""; // the way whose fields stand in ``asking``
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
        c.probability === null ? null : h("small", { text: `${c.source === "example" ? "by your own example" : "by shape"} ${Math.round(c.probability * 100)} %` }), c.after === null ? null : h("small", { text: `with its neighbours ${c.after}` }), c.note ? h("small", { class: "cp-note", lang: "ja", text: c.note }) : null),
      button("✕", () => ask("untag", { candidate: c.character }), { class: "ra-button ra-small cp-away", title: "Take away", "aria-label": `Take ${c.character} away`, "data-key": `x-${c.character}` })));
    refill(now, st.now?.length ? [h("span", { class: "ra-label", text: "Best reading now" }), h("span", { class: "ra-ja cp-nowtext", lang: "ja" },
      st.now.map((/** @type {[string, boolean]} */ [text, supplied]) => h("span", supplied ? { class: "cp-supplied", title: "not the reader's: supplied, or from shape alone", text } : { text })))] : []);
    if (rows.length) rows.push(h("div", { class: "ra-group cp-unread" }, button("Mark as unread", () => ask("unread"), { class: "ra-button ra-small", "data-key": "unread", title: "Takes all candidates away; they stay in the history" }), h("small", { text: "or type ?" })));
    refill(list, rows.length ? rows : h("p", { class: "ra-hint", text: "Nothing yet. Pick a letter below: by its sound, by its parent kanji, by typing, or by its shape. Enter as many as you think possible." }));
  }
  function paintLooks() {
    const k = st.look;
    if (!k?.photos.length) return refill(looks);
    refill(looks, h("div", { class: "ra-group" }, button("Closer", () => ask("around", { by: -1 }), { class: "ra-button ra-small", "data-key": "closer" }), button("Wider", () => ask("around", { by: 1 }), { class: "ra-button ra-small", "data-key": "wider", title: "Show more around the sign" })),
      k.photos.length > 1 ? choice("Crop taken from", k.photos, k.photo, (v) => ask("look", { photo: v }), { "data-key": "look-photo" }) : null,
      k.board ? button("As on the board", () => ask("look", { photo: k.board }), { class: "ra-button ra-small", "data-key": "look-board", title: "Take the crop from the photograph the board shows" }) : null,
      choice("Seen through", k.views, k.view, (v) => ask("look", { view: v }), { "data-key": "look-view" }),
      k.words ? h("small", { class: "cp-looked", text: "Not the untouched photograph; kept with what you enter." }) : null);
  }

  /** A letter to pick. @param {any} l */
  const card = (l) => h("button", { type: "button", class: "ra-button cp-card", "data-key": `l-${l.character}`, title: l.title, "aria-label": l.title, tabindex: "-1", "aria-pressed": String(st.candidates.some((/** @type {any} */ c) => c.character === l.character)),
    onclick: () => ask("tag", { candidate: l.character, confidence: st.sure, source: l.source ?? "reader", probability: l.probability ?? null }) }, h("span", { class: "cp-pair" }, ...pictures(l.pictures), ja(l.character, "ra-ja cp-big")), h("small", {}, ja(l.under, "")), l.hand ? h("small", { class: l.source === "example" ? "cp-hand cp-own" : "cp-hand", text: l.hand }) : null);
  /** Small pictures with their words. @param {[string, string][]} [list] */
  const pictures = (list) => (list ?? []).map(([src, alt]) => { const i = h("img", { class: "cp-ref", alt, title: alt }); i.src = src; return i; });
  const cards = (/** @type {any[]} */ rows, /** @type {string} */ label) => { const box = h("div", { class: "cp-cards", role: "group", "aria-label": label }, rows.map(card)); const first = box.querySelector("button"); if (first) first.tabIndex = 0; roving(box, "button", signal); return box; };

  function paintFinder() {
    const pickWay = (/** @type {string} */ w) => {
      way = w; paintFinder();
      if (w === "shape" && st.shape.state === "none") ask("shape");
      if (w === "type" && !lastKey.startsWith("Arrow")) typed.input.focus(); // arrows walk on past it
      if (w === "alike") { alike = st.candidates[0]?.character ?? alike; if (alike) ask("alike", { character: alike }); }
    };
    const at = /** @type {HTMLElement} */ (document.activeElement), typing = asking.contains(at) && at.matches("input[type=text]");
    const shown = /** @type {any[]} */ ([]);
    const kids = [h("div", { class: "ra-bar cp-ways" }, h("h3", { text: "Find the letter" }),
      oneOf("Find the letter", [["sound", "By sound"], ["parent", "By parent kanji"], ["part", "By part"], ["type", "Type it"], ["shape", "By shape"], ["alike", "Look-alikes"]], way, pickWay, "way"),
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
      if (st.found?.by === "sound") shown.push(h("p", { class: "ra-hint", text: st.found.words }), cards(st.found.rows, "Letters of this sound"));
    } else if (way === "parent") {
      const f = field("Parent kanji, old or new form (加, 可, 閑 …)", (/** @type {string} */ v) => { parent = v; }, { lang: "ja", size: "10" });
      f.input.value = parent;
      const go = () => { if (f.input.value.trim()) ask("by_parent", { parent: f.input.value.trim() }); };
      f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => { if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) go(); });
      kids.push(h("div", { class: "ra-group cp-line" }, f.box, button("Find", go, { class: "ra-button ra-main" })));
      if (st.found?.by === "parent") shown.push(h("p", { class: "ra-hint", text: st.found.words }), cards(st.found.rows, "Letters from this kanji"));
    } else if (way === "part") {
      const f = field("Part that can be seen (氵, 木, 寺, water …)", (/** @type {string} */ v) => { part = v; }, { size: "10" });
      f.input.value = part;
      const go = () => { part = f.input.value.trim(); if (part) ask("by_part", { part, place: partPlace }); };
      f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => { if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) go(); });
      kids.push(h("div", { class: "ra-group cp-line" }, f.box, choice("Where it stands", PLACES, partPlace, (v) => { partPlace = v; if (f.input.value.trim()) go(); }, { "data-key": "part-place" }), button("Find", go, { class: "ra-button ra-main" })));
      if (st.found?.by === "part") shown.push(h("p", { class: "ra-hint", text: st.found.words }), cards(st.found.rows, "Kanji with this part"));
    } else if (way === "type") {
      // The one field that outlives a drawing: laid into a new line it would leave the page, and a conversion would end.
      if (!typing || asked !== way) kids.push(h("div", { class: "ra-group cp-line" }, typed.box, button("Enter", add, { class: "ra-button ra-main" })));
    } else if (way === "alike") {
      const f = field("Look-alikes of (one kana, letter or kanji)", () => {}, { lang: "ja", size: "6" });
      f.input.value = alike;
      const go = () => { alike = f.input.value.trim(); if (alike) ask("alike", { character: alike }); };
      f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => { if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) go(); });
      kids.push(h("div", { class: "ra-group cp-line" }, f.box, button("Show", go, { class: "ra-button ra-main", "data-key": "alike-go" }),
        st.candidates.length > 1 ? h("span", { class: "ra-group" }, st.candidates.map((/** @type {any} */ c) => button("", () => { alike = f.input.value = c.character; ask("alike", { character: alike }); }, { class: "ra-button cp-mark ra-ja", "data-key": `al-${c.character}`, "aria-label": `Look-alikes of ${c.character}`, lang: "ja", text: c.character }))) : null));
      if (st.found?.by === "alike") {
        if (st.found.forms.length) shown.push(h("div", { class: "cp-forms" }, ja(st.found.of, "ra-ja cp-big"), ...pictures(st.found.forms), h("small", { text: "as fonts of brush hands draw it" })));
        shown.push(h("p", { class: "ra-hint", text: st.found.words }));
        if (st.found.rows.length) shown.push(cards(st.found.rows, `Taken for ${st.found.of}`));
      } else shown.push(h("p", { class: "ra-hint", text: "Enter a candidate, or write a character here, to see what it is commonly confused with in cursive." }));
    } else {
      const s = st.shape;
      kids.push(h("div", { class: "ra-group cp-line" }, oneOf("Among", [["all", "All letters"], ["kana", "Kana only"], ["kanji", "Kanji only"]], s.among, (v) => ask("shape", { among: v }), "among"),
        st.traced ? oneOf("Compare", [["", "The crop"], ["1", "The tracing"]], s.tracing ? "1" : "", (v) => ask("shape", { tracing: Boolean(v) }), "traced") : null,
        button("Look again", () => ask("shape"), { "data-key": "again" })));
      shown.push(h("p", { class: "ra-hint", text: s.words }));
      if (s.sounds?.length) shown.push(h("div", { class: "ra-group cp-sounds" }, h("span", { class: "ra-label", text: "Sounds, all letters of each together" }), s.sounds.map((/** @type {[string, string]} */ [k, p]) =>
        h("button", { type: "button", class: "ra-button ra-small", "data-key": `so-${k}`, "aria-label": `${k}, ${p}: show its letters`, onclick: () => { way = "sound"; sound = k; ask("by_sound", { sound: k }); } }, ja(k, ""), ` ${p}`))));
      if (s.rows?.length) shown.push(cards(s.rows, "Letters of similar shape"));
      if (s.none && s.state === "ready") shown.push(h("p", { class: "ra-hint cp-none", text: s.none }));
      const best = st.candidates[0]?.character;
      shown.push(h("div", { class: "ra-group cp-learn" }, button(best ? `Remember this ${s.tracing ? "tracing" : "crop"} as ${best}` : "Remember this crop", () => ask("learn"), { class: "ra-button ra-small ra-ja", "data-key": "learn", disabled: !best }), h("small", { text: "Crops you remember make the proposals better at once." })));
      if (st.own?.length) shown.push(h("div", { class: "cp-owns", role: "group", "aria-label": "Your own crops" }, h("span", { class: "ra-label", text: "Your own crops" }), st.own.map((/** @type {any} */ o) =>
        h("span", { class: "cp-ownrow" }, ja(o.character, "ra-ja"), h("small", { text: o.where }), button("Take back", () => ask("forget", { example: o.id }), { class: "ra-button ra-small", "data-key": `fo-${o.id}`, "aria-label": `Take back your example of ${o.character}, ${o.where}` })))));
    }
    // Taking out the field that is being typed in would end a Japanese conversion: then only what was found is drawn again.
    const top = asked === way ? results.querySelector(".cp-cards")?.scrollTop ?? 0 : 0;
    if (!typing || asked !== way) refill(asking, kids);
    refill(results, shown);
    const list = results.querySelector(".cp-cards");
    if (list) list.scrollTop = top;
    asked = way;
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
    paintList(); paintLooks(); paintFinder(); paintDamage(); note.put(st.note);
    if (other) {
      note.clear(); note.input.value = st.note;
      if (way === "shape") ask("shape");
      if (way === "alike" && st.candidates.length) { alike = st.candidates[0].character; ask("alike", { character: alike }); }
    }
    root.dataset.shape = st.shape.state;
    root.dataset.character = st.character;
    letters();
  });
  let url = "";
  const paintCrop = () => {
    const bytes = model.get("crop");
    if (url) URL.revokeObjectURL(url);
    if (!bytes?.byteLength) return cropPicture.replaceChildren();
    url = URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" }));
    cropPicture.replaceChildren(h("img", { src: url, alt: "The chosen sign on the photograph" }));
  };
  model.on("change:crop", paintCrop);
  paintCrop();
  signal.addEventListener("abort", () => { if (url) URL.revokeObjectURL(url); model.off("change:crop", paintCrop); });
}

export default { render };
