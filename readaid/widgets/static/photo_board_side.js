// The cards beside the photograph: questions, corrections, scale, bend, what is known of the photograph, columns in order.
import { button, choice, field, h, ja, oneOf } from "./kit.js";

/** @typedef {{editing:boolean, ask:(what:string, args?:object)=>Promise<void>, select:(id:string)=>void, showZone:(id:string)=>void,
 *  setMode:(m:string, quiet?:boolean)=>void, unmark:()=>void, endBend:()=>void, draw:()=>void, now:()=>any, mode:()=>string, marks:()=>[number,number][],
 *  forget:()=>void, band:(v?:number)=>number, repaint:()=>void}} Board */

/** @param {Board} board @returns {() => any[]} the cards as they are now */
export function sideCards(board) {
  const { ask, select, showZone, setMode, now, mode, marks, repaint } = board;
  const small = (/** @type {string} */ word, /** @type {() => void} */ act, /** @type {string} */ key, more = {}) => button(word, act, { class: "ra-button ra-small", "data-key": key, ...more });

  function cards() {
    const st = now(), kids = [];
    if (st.question && board.editing) kids.push(question(st.question));
    if (st.ruler && board.editing) kids.push(ruler(st.ruler));
    if (mode() === "scale") kids.push(scaleForm());
    if (mode() === "bend") kids.push(bendForm());
    if (mode() === "sphere") kids.push(h("div", { class: "pb-card" }, h("h3", { text: "Lamp read from a ball" }), h("p", { text: "A shiny ball beside the piece mirrors the lamp. Click the ball's left and right edge." }), small("Cancel", () => setMode("hand"), "sphere-no")));
    if (st.corrections?.length && board.editing) kids.push(corrections(st.corrections));
    if (st.scale && board.editing) kids.push(h("div", { class: "pb-card" }, h("h3", { text: "Scale" }), h("p", {}, st.scale.words), st.scale.warning ? h("p", { class: "ra-caution", text: st.scale.warning }) : null));
    if (st.computed) kids.push(h("div", { class: "pb-card" }, h("h3", { text: "Computed picture" }), h("p", { text: st.computed }),
      st.shapes && board.editing ? h("div", { class: "ra-group" }, small("Surface under a lamp you move", () => ask("relief", { show: "shape" }), "show-shape", { disabled: Boolean(st.busy), title: "The bare surface without its colour, lit from any side" }), small("Tone without shadows", () => ask("relief", { show: "tone" }), "show-tone", { disabled: Boolean(st.busy), title: "How light the surface itself is: stain, inlay and gilding, with the shadows gone" })) : null));
    if (st.columns?.length && board.editing) kids.push(order());
    if (!st.columns?.length && board.editing) kids.push(h("div", { class: "pb-card" }, h("h3", { text: "Columns, from the right" }), h("p", { class: "ra-hint", text: "Every zone that is drawn appears here in reading order." })));
    if (st.about && board.editing) kids.push(about(st.about));
    if ((st.advice?.length || st.advice_others?.length) && board.editing) {
      open.lacks ??= Boolean(st.advice.length && !st.zones.length); // told before the work begins
      const rest = st.advice_others ?? [];
      kids.push(folded("lacks", st.advice.length ? `What this photograph lacks (${st.advice.length})` : `What other photographs lack (${rest.length})`, [
        ...(st.advice.length ? st.advice : rest).map((/** @type {string} */ a) => h("p", { text: a })),
        st.advice.length && rest.length ? folded("rest", `Other photographs (${rest.length})`, rest.map((/** @type {string} */ a) => h("p", { text: a }))) : null]));
    }
    return kids;
  }

  const open = /** @type {Record<string, boolean>} */ ({});
  const folded = (/** @type {string} */ key, /** @type {string} */ title, /** @type {any[]} */ inside) => h("details", { class: "pb-card", open: Boolean(open[key]), ontoggle: (/** @type {any} */ e) => { if (e.target === e.currentTarget) open[key] = e.target.open; } }, h("summary", { text: title, "data-key": `fold-${key}` }), ...inside.filter(Boolean));

  function question(/** @type {any} */ q) {
    return h("div", { class: "pb-card pb-ask", role: "group", "aria-label": "A question before zones are proposed" }, h("h3", { text: "Which signs are these?" }), h("p", { text: q.text }),
      ...q.choices.map((/** @type {[string,string]} */ [where, words]) => small(words, () => ask("propose", { region: q.region, where }), `ask-${where}`)),
      small("Draw nothing", () => ask("leave_question"), "ask-no"));
  }
  function corrections(/** @type {any[]} */ rows) {
    return h("div", { class: "pb-card" }, h("h3", { text: `Corrections offered (${rows.length})` }), h("small", { text: "Found again on zones that are there, but not alike; drawn in violet. Nothing is changed unless you take it." }),
      ...rows.map((c) => h("div", { class: "pb-fix", role: "group", "aria-label": c.words }, h("span", { text: c.words }), small("Show", () => { select(c.zone); showZone(c.zone); }, `fix-show-${c.n}`), small("Take", () => ask("correct", { which: c.n }), `fix-${c.n}`), small("Leave", () => ask("correct", { which: c.n, take: false }), `fix-no-${c.n}`))),
      rows.length > 1 ? small("Leave all", () => ask("leave_corrections"), "fix-none") : null);
  }
  function ruler(/** @type {any} */ r) {
    return h("div", { class: "pb-card pb-ask", role: "group", "aria-label": "A ruler was found" }, h("h3", { text: "A ruler was found" }), h("p", { text: r.words }), h("div", { class: "ra-group" },
      r.uses.map((/** @type {[string,string]} */ [use, words]) => small(words, () => ask("use_ruler", { use }).then(() => setMode("hand", true)), `ruler-${use}`)), small("It is no ruler", () => ask("leave_ruler"), "ruler-no")));
  }
  function scaleForm() {
    const st = now(), done = marks().length === 2, second = Boolean(st.scale);
    let which = second ? "check" : "scale";
    const mm = field(done ? "Length in millimetres" : "First click both ends on the photograph", () => {}, { inputmode: "decimal", disabled: !done, size: "10" });
    const what = field("What is it? (ruler, width of the plate …)", () => {}, { size: "22" });
    const put = () => { if (marks().length === 2) ask("scale", { points: marks(), length: mm.input.value, what: what.input.value, which }).then(() => { if (now().scale) { board.forget(); setMode("hand", true); } }); };
    mm.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => { if (e.key === "Enter" && !e.isComposing) put(); });
    const box = h("div", { class: "pb-card" }, h("h3", { text: second ? "A second known length" : "Known length" }));
    if (second) {
      const pick = () => oneOf("Use", [["check", "Check the scale with it"], ["scale", "New scale from it"]], which, (v) => { which = v; radio.replaceChildren(pick()); });
      const radio = h("div", {}, pick());
      box.append(radio);
    }
    box.append(mm.box, what.box, h("div", { class: "ra-group" }, button("Keep", put, { class: "ra-button ra-main", disabled: !done }), button("Cancel", () => setMode("hand"))),
      st.ruler ? "" : small("Look for a ruler in the picture", () => ask("find_ruler"), "find-ruler", { title: "A ruler with even marks is looked for; you say whether it is one" }));
    return box;
  }
  function bendForm() {
    const st = now(), n = marks().length, mm = st.scale?.mm_per_pixel;
    const told = (/** @type {number} */ v) => `${v} pixels${mm ? `, ${(v * mm).toFixed(1)} mm` : ""}`;
    const out = h("output", { text: told(board.band()) });
    const most = Math.max(40, Math.min(4000, 4 * (st.across || 100)));
    const range = h("input", { type: "range", class: "ra-range", min: "8", max: String(most), step: "2", "aria-label": "Width of the column", "data-key": "band", oninput: () => { board.band(+range.value); out.textContent = told(+range.value); } });
    range.value = String(board.band());
    return h("div", { class: "pb-card" }, h("h3", { text: "Straighten a curved column" }), h("p", { class: "ra-hint", text: n ? `${n} point${n > 1 ? "s" : ""} along the middle. The dashed lines show how much is taken.` : "Click along the middle of the column, from its top to its bottom." }),
      h("label", { class: "ra-field" }, h("span", { class: "ra-label" }, "Width taken: ", out), range),
      h("div", { class: "ra-group" }, button("Straighten", () => board.endBend(), { class: "ra-button ra-main", disabled: n < 2, "data-key": "bend-do" }), small("Take the last point back", () => board.unmark(), "bend-back", { disabled: !n }), small("Cancel", () => setMode("hand"), "bend-no")));
  }
  function about(/** @type {any} */ a) {
    const surface = field("Which side or surface", (v) => ask("about", { name: "surface", value: v }), { value: a.surface, class: "ra-input pb-text", "data-key": "about-surface", list: "pb-surfaces", size: "14" });
    const light = field("Light, in your words", (v) => ask("about", { name: "light", value: v }), { value: a.light, class: "ra-input pb-text", "data-key": "about-light", size: "18" });
    const tick = (/** @type {string} */ name, /** @type {string} */ words, /** @type {boolean} */ on) => { const box = h("input", { type: "checkbox", checked: on, "data-key": `about-${name}`, onchange: () => ask("about", { name, value: box.checked }) }); return h("label", { class: "pb-tick" }, box, h("span", { text: words })); };
    const lamp = (/** @type {string} */ side, /** @type {string} */ height) => ask("lamp", { side, height: height || "low" });
    return folded("about", "About this photograph", [
      a.computed ? null : choice("Kind of picture", a.kinds.map((/** @type {string} */ k) => [k, k[0].toUpperCase() + k.slice(1)]), a.evidence, (v) => ask("about", { name: "evidence", value: v }), { "data-key": "about-evidence" }),
      surface.box, h("datalist", { id: "pb-surfaces" }, a.surfaces.map((/** @type {string} */ s) => { const o = h("option"); o.value = s; return o; })), light.box,
      tick("mirrored", "Mirrored: show left and right exchanged", a.mirrored), tick("swapped", "Negative: show dark and light exchanged", a.swapped),
      a.computed ? null : choice("Where the lamp stood", [["", "not known"], ...a.sides.map((/** @type {string} */ s) => [s, `at the ${s}`])], a.side, (v) => lamp(v, a.height), { "data-key": "about-lamp" }),
      a.computed || !a.side ? null : choice("How high", a.heights, a.height, (v) => lamp(a.side, v), { "data-key": "about-height" }),
      a.computed ? null : small("Read it from a shiny ball …", () => setMode("sphere"), "about-sphere", { title: "A shiny ball in the picture mirrors the lamp: click its two edges" })]);
  }
  let chosen = "";
  function order() {
    const chip = (/** @type {any} */ c) => h("button", { type: "button", class: `pb-chip ${c.zones.includes(now().selected) ? "pb-on" : ""}`, "data-key": `chip-${c.id}`, "data-id": c.id, draggable: board.editing ? "true" : null, "aria-pressed": String(c.zones.includes(now().selected)),
      "aria-label": `Sign ${c.n}, ${c.text ? `read ${c.text}` : c.state}`, onclick: () => { chosen = c.id; if (c.zones[0]) { select(c.zones[0]); showZone(c.zones[0]); } repaint(); },
      ondragstart: (/** @type {DragEvent} */ e) => { e.dataTransfer?.setData("text/plain", c.id); }, ondragover: (/** @type {DragEvent} */ e) => e.preventDefault(),
      ondrop: (/** @type {DragEvent} */ e) => { e.preventDefault(); e.stopPropagation(); const id = e.dataTransfer?.getData("text/plain"); if (id && id !== c.id) ask("place_before", { character: id, before: c.id }); },
    }, h("span", { class: "pb-n", text: String(c.n) }), ja(c.text || c.sign, "ra-ja pb-sign"));
    const cols = now().columns.map((/** @type {any} */ col) => h("div", { class: "pb-col", role: "group", "aria-label": `Column ${col.n} from the right`,
      ondragover: (/** @type {DragEvent} */ e) => e.preventDefault(), ondrop: (/** @type {DragEvent} */ e) => { e.preventDefault(); const id = e.dataTransfer?.getData("text/plain"); if (id) ask("place_last", { character: id, column: col.n }); } },
      h("div", { class: "pb-colhead", text: String(col.n) }), col.characters.map(chip)));
    const all = now().columns.flatMap((/** @type {any} */ c) => c.characters);
    const mine = all.find((/** @type {any} */ c) => c.id === chosen && c.zones.includes(now().selected)) ?? all.find((/** @type {any} */ c) => c.zones.includes(now().selected));
    const put = (/** @type {string} */ word, /** @type {string} */ step, /** @type {string} */ title) => button(word, () => mine && ask("order", { character: mine.id, step }), { class: "ra-button ra-small", title, disabled: !mine, "data-key": `order-${step}` });
    return h("div", { class: "pb-card" }, h("h3", { text: "Columns, from the right" }),
      h("div", { class: "pb-cols", dir: "rtl" }, cols),
      board.editing ? h("div", { class: "pb-order" }, put("▴ Earlier", "earlier", "One place earlier in reading order"), put("▾ Later", "later", "One place later"),
        put("◂ Column", "left", "The whole column goes one to the left: it is read later"), put("Column ▸", "right", "The whole column goes one to the right: it is read earlier"),
        put("Column begins here", "break", "A new column begins with this sign"), put("Join to column before", "join", "This column goes on from the one before"),
        put("Order all by position", "by_position", "Order all signs again by where they stand")) : null,
      board.editing ? h("small", { text: "Choose a sign and use these, or drag it to its place. Where columns are scattered on purpose, the order is your judgement." }) : null);
  }

  return cards;
}
