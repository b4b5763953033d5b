// Marks on the photograph: a thin tick beside each sign, a ring only round the chosen one, numbers off the writing.
import { s } from "./kit.js";
import { Numbers } from "./mat_numbers.js";
import { Ring } from "./mat_ring.js";
import { afterFrame, sameEnds } from "./standing_rows.js";
import { t } from "./texts.js";

/** @typedef {import("./board_states.js").ZoneRow} Zone */
/** @typedef {import("./board_states.js").Box} Box */
const AT_ONCE = 60; // numbers that change with one gesture: more of them wait until the frame is painted
const LOW = 15; // numbers beside signs lower than this on the screen would run into each other

/** Whether two states of a zone look the same but for the number. @param {Zone} a @param {Zone} b */
const looksAlike = (a, b) => {
  for (const k of /** @type {(keyof Zone)[]} */ (Object.keys(b))) {
    const [was, now] = [a[k], b[k]];
    if (was === now) continue;
    if (k === "label" ? Boolean(was) !== Boolean(now) : JSON.stringify(was) !== JSON.stringify(now)) return false;
  }
  return true;
};

/** The marks on the photograph. */
export class Marks {
  /** @param {import("./photo_board.js").Board} m the board @param {SVGElement} svg */
  constructor(m, svg) {
    this.m = m;
    this.svg = svg;
    this.numbers = new Numbers(this);
    this.ring = new Ring(this);
    this.ground = s("g", { class: "pb-ground", role: "group", "aria-label": t`Zones in reading order` });
    this.pinned = s("g", { class: "pb-ground" });
    this.tip = s("g", { class: "pb-tips" });
    this.damaged = s("g", { class: "pb-regions" }); // below the signs: a damaged place hides nothing
    svg.append(this.damaged, this.ground, this.pinned, this.tip);
    this.rows = /** @type {Map<string, {g:SVGGElement, z:Zone, ways:string, label:string}>} */ (new Map());
    this.order = /** @type {string[]} */ ([]); // ids as they stand on the ground
    this.late = /** @type {Set<string>} */ (new Set()); // marks whose numbers wait
    this.lies = ""; // where the ground lies, as it was told to the browser
    this.places = /** @type {import("./board_states.js").MarkedRegion[]|null} */ (null); // the damaged places that stand there
    this.several = /** @type {Set<string>} */ (new Set());
    this.local = /** @type {{id:string, box:Box}|null} */ (null); // a zone under the hand, not yet kept
    this.expected = /** @type {Set<Box>} */ (new Set()); // zones that were drawn and are on their way to the register
    this.low = false; // signs are too low on the screen for numbers beside them
    this.shown = "ticks"; // ticks | numbers | none
    this.redrawing = false;
  }
  /** @returns {Zone|undefined} */
  find(/** @type {string} */ id) {
    return this.m.st.zones.find((z) => z.id === id);
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
    const turn = `matrix(${this.m.view.matrix().join(" ")})`;
    if (turn !== this.lies) {
      for (const g of [this.damaged, this.ground, this.pinned]) g.setAttribute("transform", turn);
      this.ground.style.fontSize = `${12 / this.m.view.k}px`;
      this.lies = turn;
    }
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
    const small = this.shown === "numbers" && this.low;
    this.m.say(
      small ? t`Numbers of the marks: come nearer, the signs are too small here.` : t`Marks: ${this.word()}.`,
      "quiet",
    );
    this.m.light.paint();
  }
  /** How the marks are shown, in words. */
  word() {
    return { ticks: t`thin`, numbers: t`with numbers`, none: t`hidden` }[this.shown] ?? this.shown;
  }
  /** Marked regions of the condition: a broken outline with its cause and advice. */
  regions() {
    if (this.places === this.m.st.regions) return;
    this.places = this.m.st.regions;
    this.damaged.replaceChildren(
      ...(this.m.st.regions ?? []).map((r) => {
        const title = s("title");
        title.textContent = r.words;
        return s("polygon", { points: r.outline.map((p) => p.join(",")).join(" ") }, title);
      }),
    );
  }
  /** Make every mark again that has changed. */
  paint() {
    this.regions();
    const { zones } = this.m.st,
      had = document.activeElement?.closest?.(".pb-zone")?.getAttribute("data-id");
    if (this.several.size) this.several = new Set([...this.several].filter((id) => this.find(id)));
    this.redrawing = true; // taking the focused zone out makes it lose the focus, which is no leaving by hand
    zones.forEach((z, i) => {
      const ways = this.ways(z, i),
        row = this.rows.get(z.id);
      if (!row || row.ways !== ways || (row.z !== z && !looksAlike(row.z, z))) {
        const g = this.mark(z, this.box(z), z.id === this.m.st.selected, !this.m.st.selected && i === 0);
        row?.g.replaceWith(g);
        this.rows.set(z.id, { g, z, ways, label: z.label });
        this.late.delete(z.id);
      } else {
        row.z = z;
        if (row.label !== z.label) this.late.add(z.id);
      }
    });
    this.put(zones.map((z) => z.id));
    if (had && document.activeElement?.getAttribute("data-id") !== had)
      (this.element(had) ?? this.m.host).focus({ preventScroll: true }); // of a mark that is gone the keys stay here
    this.redrawing = false;
    if (this.late.size > AT_ONCE && this.shown !== "numbers") afterFrame(() => this.renumber());
    else this.renumber();
    this.numbers.forget();
    this.lie();
  }
  /** In what a mark differs from most: chosen, among several, the first to be reached, under the hand.
   * @param {Zone} z @param {number} i */
  ways(z, i) {
    const { selected } = this.m.st,
      first = !selected && i === 0;
    if (z.id !== selected && !first && !this.several.has(z.id) && this.local?.id !== z.id) return "";
    const b = this.box(z);
    return `${z.id === selected} ${this.several.has(z.id)} ${first} ${b === z ? "" : JSON.stringify(b)}`;
  }
  /** Marks in this order on the ground: only where the order is another they are put. @param {string[]} ids */
  put(ids) {
    const was = this.order,
      [head, tail] = sameEnds(was, ids),
      there = new Set(ids);
    for (const id of was.slice(head, was.length - tail)) {
      if (there.has(id)) continue;
      this.element(id)?.remove();
      this.rows.delete(id);
      this.late.delete(id);
    }
    let before = head ? this.element(ids[head - 1]) : null;
    for (const id of ids.slice(head, ids.length - tail)) {
      const g = this.element(id),
        next = before ? before.nextSibling : this.ground.firstChild;
      if (!g) continue;
      if (next !== g) this.ground.insertBefore(g, next);
      before = g;
    }
    this.order = ids;
  }
  /** Other numbers for marks that are as they were. */
  renumber() {
    for (const id of this.late) {
      const row = this.rows.get(id);
      if (!row) continue;
      row.label = row.z.label;
      row.g.setAttribute("aria-label", this.words(row.z, this.box(row.z)));
      const text = row.g.querySelector(".pb-label");
      if (text) text.textContent = this.numbered(row.z);
    }
    this.late.clear();
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
      role: "button", // an option within a drawing is read with all others, since a browser tells one place for all of them
      tabindex: on || first ? "0" : "-1",
      "aria-pressed": String(on || this.several.has(z.id)),
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
      kids = /** @type {SVGElement[]} */ ([]);
    const z = this.chosen();
    if (z && this.shown !== "none") kids.push(...this.ring.round(z));
    if (m.hand) kids.push(...m.hand.tips());
    for (const b of this.expected) {
      const r = m.view.screenBox(b);
      kids.push(s("rect", { class: "pb-new pb-expected", x: r.x, y: r.y, width: r.w, height: r.h }));
    }
    kids.push(...this.ring.offers());
    this.tip.replaceChildren(...kids);
  }
}
