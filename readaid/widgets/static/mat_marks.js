// Marks on the photograph: a thin tick beside each sign, a ring only round the chosen one, numbers off the writing.
import { s } from "./kit.js";
import { Numbers } from "./mat_numbers.js";
import { t } from "./texts.js";

/** @typedef {{id:string,x:number,y:number,w:number,h:number,outline:[number,number][]|null,label:string,text:string,mark:string,home:string,sure:string,faint:boolean,joined:boolean,body:string}} Zone */
/** @typedef {{x:number,y:number,w:number,h:number}} Box */
const GRIPS = /** @type {[string, number, number][]} */ ([
  ["nw", 0, 0],
  ["n", 0.5, 0],
  ["ne", 1, 0],
  ["e", 1, 0.5],
  ["se", 1, 1],
  ["s", 0.5, 1],
  ["sw", 0, 1],
  ["w", 0, 0.5],
]);
const CURSOR = /** @type {Record<string, string>} */ ({
  nw: "nwse",
  se: "nwse",
  ne: "nesw",
  sw: "nesw",
  n: "ns",
  s: "ns",
  e: "ew",
  w: "ew",
});
const LOW = 15; // numbers beside signs lower than this on the screen would run into each other

/** Whether two states of a zone look the same but for the number. @param {Zone} a @param {Zone} b */
const looksAlike = (a, b) =>
  Object.entries(b).every(([k, v]) => {
    const was = /** @type {any} */ (a)[k];
    return was === v || (k === "label" ? Boolean(was) === Boolean(v) : JSON.stringify(was) === JSON.stringify(v));
  });

/** The marks on the photograph. */
export class Marks {
  /** @param {import("./photo_board.js").Board} m the board @param {SVGElement} svg */
  constructor(m, svg) {
    this.m = m;
    this.svg = svg;
    this.numbers = new Numbers(this);
    this.ground = s("g", { class: "pb-ground" });
    this.tip = s("g", { class: "pb-tips" });
    this.damaged = s("g", { class: "pb-regions" }); // below the signs: a damaged place hides nothing
    svg.append(this.damaged, this.ground, this.tip);
    this.rows = /** @type {Map<string, {g:any, z:Zone, ways:string, label:string}>} */ (new Map());
    this.several = /** @type {Set<string>} */ (new Set());
    this.local = /** @type {{id:string, box:Box}|null} */ (null); // a zone under the hand, not yet kept
    this.expected = /** @type {Set<Box>} */ (new Set()); // zones that were drawn and are on their way to the register
    this.low = false; // signs are too low on the screen for numbers beside them
    this.shown = "ticks"; // ticks | numbers | none
    this.redrawing = false;
  }
  /** @returns {Zone|undefined} */
  find(/** @type {string} */ id) {
    return this.m.st.zones.find((/** @type {Zone} */ z) => z.id === id);
  }
  chosen() {
    return this.find(this.m.st.selected);
  }
  /** @returns {Box} */
  box(/** @type {Zone} */ z) {
    return this.local?.id === z.id ? this.local.box : z;
  }
  element(/** @type {string} */ id) {
    return this.rows.get(id)?.g;
  }
  focus(/** @type {string} */ id) {
    this.element(id)?.focus({ preventScroll: true });
  }
  /** Where the marks lie, at this zoom: nothing of them is drawn anew. */
  lie() {
    const turn = this.m.view.matrix();
    for (const g of [this.damaged, this.ground]) g.setAttribute("transform", `matrix(${turn.join(" ")})`);
    this.ground.style.fontSize = `${12 / this.m.view.k}px`;
    const usual = this.m.st.usual;
    this.low = usual ? usual[1] * this.m.view.k < LOW : false;
    this.svg.classList.toggle("pb-low", this.low);
    if (this.shown === "numbers" && !this.low) this.numbers.lay();
    this.tips();
  }
  show(/** @type {string} */ how) {
    this.shown = how;
    this.svg.setAttribute("data-marks", how);
    this.m.root.dataset.marks = how;
    this.lie();
  }
  toggle() {
    this.show({ ticks: "numbers", numbers: "none", none: "ticks" }[this.shown] ?? "ticks");
    this.m.say(t`Marks: ${this.word()}.`, "quiet");
    this.m.light.paint();
  }
  /** How the marks are shown, in words. */
  word() {
    return { ticks: t`thin`, numbers: t`with numbers`, none: t`hidden` }[this.shown] ?? this.shown;
  }
  /** Marked regions of the condition: a broken outline with its cause and advice. */
  regions() {
    this.damaged.replaceChildren(
      ...(this.m.st.regions ?? []).map((/** @type {any} */ r) => {
        const title = s("title");
        title.textContent = r.words;
        return s("polygon", { points: r.outline.map((/** @type {number[]} */ p) => p.join(",")).join(" ") }, title);
      }),
    );
  }
  /** Make every mark again that has changed. */
  paint() {
    this.regions();
    const st = this.m.st,
      seen = new Set(),
      had = document.activeElement?.closest?.(".pb-zone")?.getAttribute("data-id");
    this.several = new Set([...this.several].filter((id) => this.find(id)));
    this.redrawing = true; // taking the focused zone out makes it lose the focus, which is no leaving by hand
    /** @type {Element|null} */ let before = null;
    st.zones.forEach((/** @type {Zone} */ z, /** @type {number} */ i) => {
      seen.add(z.id);
      const on = z.id === st.selected,
        b = this.box(z),
        ways = `${on} ${this.several.has(z.id)} ${!st.selected && !i} ${b === z ? "" : JSON.stringify(b)}`;
      let row = this.rows.get(z.id);
      if (!row || row.ways !== ways || (row.z !== z && !looksAlike(row.z, z))) {
        const g = this.mark(z, b, on, !st.selected && i === 0);
        if (row) row.g.replaceWith(g);
        row = { g, z, ways, label: z.label };
        this.rows.set(z.id, row);
      } else if (row.label !== z.label) this.number(row, z, b);
      if ((before ? before.nextSibling : this.ground.firstChild) !== row.g)
        this.ground.insertBefore(row.g, before ? before.nextSibling : this.ground.firstChild);
      row.z = z;
      before = row.g;
    });
    for (const [id, row] of this.rows)
      if (!seen.has(id)) {
        row.g.remove();
        this.rows.delete(id);
      }
    if (had && document.activeElement?.getAttribute("data-id") !== had) this.focus(had);
    this.redrawing = false;
    this.numbers.forget();
    this.lie();
  }
  /** Another number for a mark that is as it was. @param {any} row @param {Zone} z @param {Box} b */
  number(row, z, b) {
    row.label = z.label;
    row.g.setAttribute("aria-label", this.words(z, b));
    const text = row.g.querySelector(".pb-label");
    if (text) text.textContent = this.numbered(z);
  }
  /** The number of a mark, with a mark of doubt. @param {Zone} z */
  numbered(z) {
    return z.label && z.label + (z.faint ? "?" : "");
  }
  /** A mark in words. @param {Zone} z @param {Box} b */
  words(z, b) {
    const words = z.text ? t`read ${z.text}` : z.body === "monogram" ? t`a monogram, outside the text` : t`not read`;
    return [
      t`Zone ${z.label || t`without a sign`}`,
      words,
      t`${Math.round(b.w)} by ${Math.round(b.h)} pixels`,
      z.sure,
      z.body !== "monogram" && z.body,
      z.home && t`drawn on ${z.home}`,
    ]
      .filter(Boolean)
      .join(t`, `);
  }
  /** One mark. @param {Zone} z @param {Box} b @param {boolean} on @param {boolean} first */
  mark(z, b, on, first) {
    const state = z.body ? "pb-other" : ({ read: "pb-read", unread: "pb-unread", lost: "pb-lost" }[z.mark] ?? "");
    const g = s("g", {
      class: `pb-zone ${state} ${z.faint ? "pb-doubt" : z.sure ? "pb-proposed" : ""} ${this.several.has(z.id) ? "pb-among" : ""}`,
      role: "option",
      tabindex: on || first ? "0" : "-1",
      "aria-selected": String(on || this.several.has(z.id)),
      "data-id": z.id,
      "data-on": on ? "1" : null,
      "aria-label": this.words(z, b),
    });
    const area =
      z.outline && b === z
        ? s("polygon", { class: "pb-edge", points: z.outline.map((p) => p.join(",")).join(" ") })
        : s("rect", { class: "pb-edge", x: b.x, y: b.y, width: b.w, height: b.h });
    const tick = { x1: b.x + b.w, y1: b.y + b.h * 0.1, x2: b.x + b.w, y2: b.y + b.h * 0.9 };
    g.append(area, s("line", { class: "pb-tick pb-under", ...tick }), s("line", { class: "pb-tick", ...tick }));
    if (z.label) g.append(s("text", { class: "pb-label", lang: "ja", text: this.numbered(z) }));
    return g;
  }

  // --- what lies above the marks, in screen pixels --------------------------------------------
  tips() {
    const { m } = this,
      kids = /** @type {any[]} */ ([]);
    const z = this.chosen();
    if (z && this.shown !== "none") kids.push(...this.ring(z));
    if (m.hand) kids.push(...m.hand.tips());
    for (const b of this.expected) {
      const r = m.view.screenBox(b);
      kids.push(s("rect", { class: "pb-new pb-expected", x: r.x, y: r.y, width: r.w, height: r.h }));
    }
    kids.push(...this.offers());
    this.tip.replaceChildren(...kids);
  }
  /** The ring round the chosen sign, its number beside it, its grips. @param {Zone} z */
  ring(z) {
    const { m } = this,
      b = this.box(z),
      r = m.view.screenBox(b),
      kids = [];
    const points = z.outline && b === z ? z.outline.map((p) => m.view.at(p).join(",")).join(" ") : null;
    for (const cls of ["pb-ring pb-under", "pb-ring"])
      kids.push(
        points
          ? s("polygon", { class: cls, points })
          : s("rect", { class: cls, x: r.x - 2, y: r.y - 2, width: r.w + 4, height: r.h + 4, rx: 2 }),
      );
    if (z.label && (this.shown !== "numbers" || this.low)) kids.push(...this.numbers.alone(z, r));
    if (!m.changing()) return kids;
    const close = r.w < 44 || r.h < 44; // eight grips would hide a small zone
    for (const [c, fx, fy] of GRIPS.filter((g) => !close || g[0] === "nw" || g[0] === "se")) {
      const [cx, cy] = m.view.at([b.x + b.w * fx, b.y + b.h * fy]),
        cursor = `cursor:${CURSOR[c]}-resize`;
      kids.push(
        s("circle", { class: "pb-grip", "data-c": c, cx, cy, r: close ? 4 : 5, style: cursor }),
        s("circle", { class: "pb-hit", "data-c": c, cx, cy, r: close ? 9 : 14, style: cursor }),
      );
    }
    return kids;
  }
  /** What is offered and waits for a word: corrections, a ruler, the lines that make the scale. */
  offers() {
    const { m } = this,
      st = m.st,
      kids = [];
    for (const c of st.corrections ?? [])
      for (const b of c.boxes) {
        const r = m.view.screenBox(b);
        kids.push(s("rect", { class: "pb-offer", x: r.x, y: r.y, width: r.w, height: r.h }));
      }
    if (st.ruler && m.editing)
      kids.push(
        s("polygon", {
          class: "pb-ruler",
          points: st.ruler.outline.map((/** @type {[number,number]} */ p) => m.view.at(p).join(",")).join(" "),
        }),
      );
    if (st.scale && m.mode === "scale") {
      kids.push(...this.rule(st.scale.a, st.scale.b, "pb-rule", t`${st.scale.millimetres} mm`));
      if (st.scale.check_a)
        kids.push(
          ...this.rule(st.scale.check_a, st.scale.check_b, "pb-rule pb-rule2", t`${st.scale.check_millimetres} mm`),
        );
    }
    return kids;
  }
  /** A measured line. @param {any} a @param {any} b @param {string} cls @param {string} word */
  rule(a, b, cls, word) {
    const [x1, y1] = this.m.view.at(a),
      [x2, y2] = this.m.view.at(b),
      ends = { x1, y1, x2, y2 };
    return [
      s("line", { class: `${cls} pb-under`, ...ends }),
      s("line", { class: cls, ...ends }),
      s("text", { class: "pb-number", x: (x1 + x2) / 2 + 6, y: (y1 + y2) / 2 - 6, text: word }),
    ];
  }
}
