// Ranked readings that follow every change of a sign; what the neighbours say; parts held fast; attempts written down.
import { button, choice, field, fold, h, ja, oneOf, panel, refill } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, say, ask, show, letters } = panel(given, "rp", "Reading");
  let st = /** @type {any} */ ({});
  let open = 0; // which reading is unfolded
  let keeping = -1; // which reading is about to be written down; -2 the reader's own words
  let spreadOpen = false;
  const draft = { confidence: 0.5, evidence: "", status: "open" };

  const bar = h("div", { class: "ra-bar" });
  const shape = h("div", { class: "rp-byshape" });
  const strip = h("div", { class: "rp-strip", dir: "rtl", role: "group", "aria-label": "Signs in reading order, columns from the right" });
  const one = h("div", { class: "rp-one", role: "group", "aria-label": "The chosen sign in its place" });
  const list = h("div", { class: "rp-list", role: "list", "aria-label": "Readings, best first" });
  const own = field("Your own reading, a line for each line of the verse (? for an unread sign)", (v) => ask("own", { text: v }), { rows: 3, lang: "ja" });
  const counted = h("div", { class: "rp-counted" });
  const ownKeep = h("div", {});
  const kept = h("div", {}), known = h("div", {});
  body.append(bar, shape, h("div", { class: "rp-split" }, h("div", { class: "rp-left" }, h("h3", { text: "Signs, weighed with their neighbours" }), strip, one),
    h("div", { class: "rp-right" }, h("h3", { text: "Readings, best first" }), list)),
    fold("Write your own reading", [own.box, counted, ownKeep]), fold("Is it a known verse?", [known]), h("h3", { text: "Attempts kept" }), kept);

  function paintBar() {
    refill(bar, st.inscriptions?.length > 1 ? choice("Inscription", st.inscriptions, st.inscription, (v) => ask("inscription", { inscription: v }), { "data-key": "insc" }) : null,
      choice("Verse form", st.forms, st.form ?? "", (v) => ask("form", { form: v }), { "data-key": "form" }),
      h("span", { class: "rp-state", role: "status" }, st.busy ? [h("progress", { "aria-label": "Searching" }), " Searching …"] : st.words || ""));
  }
  function paintShape() {
    const box = h("input", { type: "checkbox", checked: st.shape.on, "data-key": "shape", onchange: () => ask("shape", { on: box.checked }) });
    refill(shape, h("div", { class: "ra-group" }, h("label", { class: "rp-tick" }, box, h("span", { text: "Read unread signs by their shape" })),
      st.shape.on ? oneOf("Among", st.shape.kinds, st.shape.among, (v) => ask("shape", { among: v }), "among") : null),
      st.shape.words ? h("p", { class: st.busy ? "ra-hint" : "ra-caution", role: "status", text: st.shape.words }) : null);
  }
  function paintStrip() {
    refill(strip, st.columns.map((/** @type {any} */ col, /** @type {number} */ i) => h("div", { class: "rp-col", role: "group", "aria-label": `Column ${i + 1}` }, col.map((/** @type {any} */ c) => {
      const b = h("button", { type: "button", class: `rp-sign ${c.id === st.chosen ? "rp-on" : ""} ${c.kind}${c.shape ? " rp-byitself" : ""}`, title: c.shape ? "from shape alone, judged by nobody" : null, "data-key": `s-${c.id}`, "aria-pressed": String(c.id === st.chosen),
        "aria-label": `Sign ${c.n}: ${c.best || "not read"}${c.shape ? ", from shape alone, judged by nobody" : ""}${c.share === null ? "" : `, ${Math.round(c.share * 100)} per cent with its neighbours`}${c.fixed ? ", held fast" : ""}${c.ends ? ", a word ends here" : ""}`, onclick: () => ask("choose", { character: c.id }) },
        h("span", { class: "rp-n", text: String(c.n) }), ja(c.best || c.blank, `ra-ja rp-glyph${c.shape ? " rp-shape" : ""}`), h("span", { class: "rp-read", lang: "ja", text: c.read ?? "" }),
        h("span", { class: "rp-tags" }, c.fixed ? h("span", { class: "rp-tag", title: "held fast", text: "held" }) : null, c.name ? h("span", { class: "rp-tag", text: "name" }) : null));
      const bar2 = h("span", { class: "rp-bar", "aria-hidden": "true" }, h("span", { style: `width:${Math.round((c.share ?? 0) * 100)}%` }));
      b.append(bar2);
      return [b, c.ends ? h("span", { class: "rp-end", title: "a word ends here", "aria-hidden": "true" }) : null];
    }).flat())));
  }
  function paintOne() {
    const c = st.columns.flat().find((/** @type {any} */ x) => x.id === st.chosen);
    if (!c) { refill(one, h("p", { class: "ra-hint", text: "Choose a sign to see what its neighbours say, and to hold a part of the reading fast." })); return; }
    refill(one, h("strong", { text: `Sign ${c.n}` }),
      c.shares.length ? h("table", { class: "rp-shares" }, h("thead", {}, h("tr", {}, h("th", { scope: "col", text: "Letter" }), h("th", { scope: "col", text: "Read" }), h("th", { scope: "col", text: "You said" }), h("th", { scope: "col", text: "With its neighbours" }))),
        h("tbody", {}, c.shares.map((/** @type {any} */ s) => h("tr", { class: s.restored ? "rp-restored" : "" }, h("td", {}, ja(s.character || "–")), h("td", {}, ja(s.kana, "")), h("td", { text: s.mine ?? "–" }), h("td", { class: "rp-num", text: s.words }))))) : null,
      c.shape ? h("small", { text: "From shape alone: nobody has judged this sign. Look at it, and enter in the sign's own panel what you find right." }) : null,
      c.shares.some((/** @type {any} */ s) => s.restored) ? h("small", { text: "Dotted: not seen on the piece, supplied from the language. Never take it for what stands there." }) : null,
      h("div", { class: "rp-hold" }, h("span", { class: "ra-label", text: "Certainly this" }), oneOf("Certainly this", [["", "not held"], ...c.options.map((/** @type {string} */ o) => [o, o])], c.fixed, (v) => ask("hold", { character: c.id, fields: { fixed: v } }), "fix")),
      h("div", { class: "rp-hold" }, h("span", { class: "ra-label", text: "After this sign" }), oneOf("After this sign", [["no", "not said"], ["yes", "a word ends here"]], c.ends ? "yes" : "no", (v) => ask("hold", { character: c.id, fields: { word_ends: v === "yes" } }), "ends")),
      h("div", { class: "rp-hold" }, h("span", { class: "ra-label", text: "Belongs to a name" }), oneOf("Belongs to a name", [["", "no"], ["place", "of a place"], ["person", "of a person"]], c.name, (v) => ask("hold", { character: c.id, fields: { name_of: v } }), "name")));
  }
  const surplus = (/** @type {number|null} */ n) => n === null || n === undefined ? "" : n === 0 ? "fits" : n > 0 ? `${n} too many` : `${-n} too few`;
  const parts = (/** @type {any[]} */ of) => of.map((p) => h("span", { class: p.restored ? "rp-restored" : p.shape ? "rp-shape" : null, title: p.restored ? "supplied, not seen" : p.shape ? "from shape alone, judged by nobody" : null, text: p.text }));
  const lines = (/** @type {any[]} */ rows) => h("table", { class: "rp-lines" }, h("tbody", {}, rows.map((l) => h("tr", {}, h("td", { class: "rp-line", lang: "ja" }, parts(l.parts)),
    h("td", { class: "rp-morae" }, h("b", { text: String(l.morae) }), l.want === null ? " morae" : ` of ${l.want}`), h("td", { class: l.surplus ? "rp-off" : "rp-fits", text: surplus(l.surplus) }),
    h("td", { class: "rp-rules" }, l.rules.map((/** @type {string} */ r) => h("span", { class: "rp-rule", lang: "ja", text: r })))))));
  function keepForm(/** @type {number} */ i) {
    const evidence = field("Why? (what is seen, which light, who agrees)", (v) => { draft.evidence = v; }, { rows: 2, lang: "ja" });
    evidence.input.value = draft.evidence;
    evidence.input.addEventListener("input", () => { draft.evidence = evidence.input.value; });
    const box = h("div", { class: "rp-keep" });
    const paint = () => refill(box, h("div", { class: "rp-hold" }, h("span", { class: "ra-label", text: "How sure are you of this reading?" }), oneOf("How sure", st.values.map((/** @type {any} */ [w]) => [w, w]), st.values.find((/** @type {any} */ v) => v[1] === draft.confidence)?.[0] ?? "", (w) => { draft.confidence = st.values.find((/** @type {any} */ v) => v[0] === w)[1]; paint(); }, "ks")),
      h("div", { class: "rp-hold" }, h("span", { class: "ra-label", text: "Status" }), oneOf("Status", st.statuses, draft.status, (v) => { draft.status = v; paint(); }, "kst")), evidence.box,
      h("div", { class: "ra-group" }, button("Write it into the register", () => { ask(i === -2 ? "keep_own" : "keep", { ...draft, ...(i === -2 ? { text: own.input.value } : { index: i, turn: st.turn }) }).then(() => { keeping = -1; draft.evidence = ""; paintAll(); }); }, { class: "ra-button ra-main", "data-key": "kw" }), button("Cancel", () => { keeping = -1; paintAll(); }, { "data-key": "kc" })));
    paint();
    return box;
  }
  function paintList() {
    if (!st.readings.length) { refill(list, h("p", { class: "ra-hint", text: st.columns.flat().length ? st.words || "No reading yet." : "No signs yet. Draw zones on the photograph first, then say what each may be." })); return; }
    if (open >= st.readings.length) open = 0;
    refill(list, st.readings.map((/** @type {any} */ r, /** @type {number} */ i) => {
      const top = h("button", { type: "button", class: "rp-head", "data-key": `r-${i}`, "aria-expanded": String(i === open), onclick: () => { open = i; paintList(); } },
        h("span", { class: "rp-rank", text: `${i + 1}` }), h("span", { lang: "ja", class: "ra-ja rp-short" }, r.lines.map((/** @type {any} */ l, /** @type {number} */ n) => [n ? "　" : null, parts(l.parts)])), h("span", { class: "rp-share", text: r.share }));
      if (i !== open) return h("div", { role: "listitem", class: "rp-reading" }, top);
      return h("div", { role: "listitem", class: "rp-reading rp-open" }, top, lines(r.lines),
        h("dl", { class: "rp-layers" }, r.layers.map((/** @type {any} */ [k, v, lang]) => [h("dt", { text: k }), h("dd", lang ? { lang } : {}, k === "As it stands" ? parts(r.written) : v)])),
        r.general.length ? h("p", { class: "rp-why" }, r.general.map((/** @type {string} */ g) => h("span", { class: "rp-rule", lang: "ja", text: g }))) : null,
        r.restored ? h("p", { class: "ra-caution", text: r.restored }) : null,
        r.shape ? h("p", { class: "ra-caution", text: `Dot below: ${r.shape}` }) : null,
        i === 0 && st.spread?.length ? h("details", { class: "rp-spread", open: spreadOpen, ontoggle: (/** @type {Event} */ e) => { spreadOpen = /** @type {HTMLDetailsElement} */ (e.target).open; } }, h("summary", { "data-key": "spread" }, h("span", { text: st.spread[0] })), st.spread.slice(1).map((/** @type {string} */ w) => h("p", { text: w }))) : null,
        keeping === i ? keepForm(i) : button("Keep as an attempt …", () => { keeping = i; paintList(); list.querySelector(".rp-keep button")?.focus(); }, { "data-key": `keep-${i}` }));
    }));
  }
  function paintOwn() {
    refill(counted, st.own?.busy ? h("span", { class: "ra-group" }, h("progress", { "aria-label": st.own.words }), st.own.words) : st.own?.lines?.length ? [lines(st.own.lines), h("small", { text: st.own.words })] : []);
    refill(ownKeep, keeping === -2 ? keepForm(-2) : button("Keep as an attempt …", () => { keeping = -2; paintOwn(); }, { "data-key": "keep-own" }));
  }
  function paintKnown() {
    refill(known, h("div", { class: "ra-group" }, button("Look for it", () => ask("known"), { "data-key": "known" }), h("span", { class: "ra-hint", text: st.known.words || "Compares your candidates, gaps and all, with the verses kept here. Look only after you have read for yourself: a known verse biases the eye." })),
      st.known.rows.length ? h("table", {}, h("thead", {}, h("tr", {}, ["Verdict", "Verse", "Whose, where", "What differs", "By chance"].map((t) => h("th", { scope: "col", text: t })))), h("tbody", {}, st.known.rows.map((/** @type {string[]} */ r) => h("tr", {}, r.map((x) => h("td", { lang: "ja", text: x })))))) : null);
  }
  function paintKept() {
    refill(kept, st.attempts.length ? h("table", {}, h("thead", {}, h("tr", {}, ["Reading", "Sure", "Status", "Reader", "When"].map((t) => h("th", { scope: "col", text: t })))),
      h("tbody", {}, st.attempts.map((/** @type {any} */ a) => h("tr", {}, h("td", { lang: "ja", text: a.text }), h("td", { text: a.sure }), h("td", { text: a.status }), h("td", { text: a.reader }), h("td", { text: a.when })))))
      : h("p", { class: "ra-hint", text: "None yet. Each reading you keep stays in the register with its reasons; a later one never overwrites it." }));
  }
  function paintAll() { paintBar(); paintShape(); paintStrip(); paintOne(); if (keeping < 0 || !list.querySelector(".rp-keep")) paintList(); paintOwn(); paintKnown(); paintKept(); }
  show((now) => {
    if (!now?.columns) return;
    const moved = now.turn !== st.turn;
    st = now;
    if (moved && keeping >= 0) { keeping = -1; say("The readings changed; choose again which one to keep."); }
    root.dataset.turn = String(st.turn); root.dataset.busy = String(Boolean(st.busy)); root.dataset.shape = st.shape.on ? "on" : "off";
    paintAll();
    letters();
  });
}

export default { render };
