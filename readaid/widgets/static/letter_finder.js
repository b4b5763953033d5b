// Ways to find a letter: by sound, parent kanji, part, shape, look-alikes; what was found as cards of one height.
import { choice, field, h, ja, named, oneOf, refill, roving } from "./kit.js";
import { Ways } from "./letter_ways.js";
import { SoundBoard } from "./sound_board.js";
import { t } from "./texts.js";

/** @returns {[string, string][]} */
const WAYS = () => [
  ["sound", t`Sound`],
  ["parent", t`Parent`],
  ["part", t`Part`],
  ["shape", t`Shape`],
  ["alike", t`Look-alikes`],
];
const NAMES = () =>
  /** @type {Record<string, string>} */ ({
    sound: t`By sound`,
    parent: t`By parent kanji`,
    part: t`By part`,
    shape: t`By shape`,
    alike: t`Look-alikes`,
  });

/** @typedef {import("./kit.js").Kid} Kid */
/** What a way is asked with, and what it found. @typedef {[Kid[], Kid[]]} Asked */
/** @typedef {import("./sign_states.js").LetterRow & Partial<import("./sign_states.js").ShapeRow>} Found */

/** Finding a letter: what is asked with, and what was found as cards. */
export class Finder {
  /** @param {import("./character_panel.js").Sign} p the sign's panel */
  constructor(p) {
    this.p = p;
    this.sounds = new SoundBoard(this);
    this.ways = new Ways(this);
    this.way = "sound";
    this.sound = "";
    this.asked = ""; // the way whose fields stand in ``asking``
    this.wayBox = h("div", { class: "cp-ways" });
    this.asking = h("div", { class: "cp-asking" });
    this.results = this.resultBox();
    this.box = h(
      "div",
      { class: "cp-finder" },
      h("div", { class: "cp-wayline" }, p.typed.input, this.wayBox),
      h("div", { class: "cp-found" }, this.asking, this.results),
    );
  }
  /** Where what was found is laid. Each way has a box of its own: one that stayed would move when another way takes its place. */
  resultBox() {
    const { pair, signal } = this.p;
    const box = h("div", { class: "cp-results" });
    box.addEventListener("pointerout", () => pair.point(null), { signal });
    return box;
  }
  /** Another sign: what was asked by shape is asked for this one, too. */
  other() {
    if (this.way === "shape") this.p.ask("shape");
    const first = this.p.st.candidates[0];
    if (this.way === "alike" && first) {
      this.ways.alike = first.character;
      this.p.ask("alike", { character: this.ways.alike });
    }
  }
  /** Enter the n-th card that is shown. @param {number} n */
  pick(n) {
    const card = /** @type {HTMLElement|undefined} */ (this.results.querySelectorAll(".cp-card")[n - 1]);
    card?.click();
    return Boolean(card);
  }
  go(/** @type {string} */ way) {
    const { p } = this;
    this.way = way;
    this.paint();
    if (way === "shape" && p.st.shape.state === "none") p.ask("shape");
    if (way === "alike") {
      this.ways.alike = p.st.candidates[0]?.character ?? this.ways.alike;
      if (this.ways.alike) p.ask("alike", { character: this.ways.alike });
    }
  }
  paint() {
    const { p, way } = this,
      st = p.st,
      at = /** @type {HTMLElement} */ (document.activeElement),
      typing = this.asking.contains(at) && at.matches("input[type=text]");
    const ways = oneOf(t`Find the letter`, WAYS(), way, (w) => this.go(w), "way");
    WAYS().forEach(([w], i) => {
      named(ways.children[i], NAMES()[w]);
    });
    refill(
      this.wayBox,
      ways,
      choice(
        t`How sure a new candidate is`,
        st.values.map(([w, v]) => [String(v), w]),
        String(st.sure),
        (v) => p.ask("as", { confidence: +v }),
        { "data-key": "sure", title: t`How sure of what you enter next` },
      ),
    );
    const [kids, shown] = this.found(way);
    this.asking.dataset.way = way;
    // Taking out the field that is being typed in would end a Japanese conversion: then only what was found is drawn again.
    const top = this.asked === way ? (this.results.querySelector(".cp-cards")?.scrollTop ?? 0) : 0;
    if (!typing || this.asked !== way) refill(this.asking, kids);
    if (this.asked && this.asked !== way) {
      const box = this.resultBox();
      this.results.replaceWith(box);
      this.results = box;
    }
    refill(this.results, shown);
    const list = this.results.querySelector(".cp-cards");
    if (list) list.scrollTop = top;
    this.asked = way;
  }
  /** What a way is asked with, and what it found. @param {string} way @returns {Asked} */
  found(way) {
    const { ways, sounds } = this;
    if (way === "parent") return ways.parent_();
    if (way === "part") return ways.part_();
    if (way === "alike") return ways.alike_();
    return way === "shape" ? ways.shape_() : sounds.sound_();
  }
  /** A letter to pick. @param {Found} l */
  card(l, n = 0) {
    const { p } = this,
      on = p.st.candidates.some((c) => c.character === l.character);
    return h(
      "button",
      {
        type: "button",
        class: "ra-button cp-card",
        "data-key": `l-${l.character}`,
        title: l.title,
        "aria-label": l.title,
        tabindex: "-1",
        "aria-pressed": String(on),
        onpointerover: () => p.pair.point(l.pictures?.[0] ?? null, l.character),
        onfocus: () => p.pair.point(l.pictures?.[0] ?? null, l.character),
        onblur: () => p.pair.point(null),
        onclick: () =>
          p.ask("tag", {
            candidate: l.character,
            confidence: p.st.sure,
            source: l.source ?? "reader",
            probability: l.probability ?? null,
          }),
      },
      h("span", { class: "cp-pair" }, ...this.pictures(l.pictures), ja(l.character, "ra-ja cp-big")),
      h(
        "small",
        {},
        n && n < 10 ? h("span", { class: "cp-n", "aria-hidden": "true", text: `${n} ` }) : null,
        ja(l.under, ""),
      ),
      l.hand ? h("small", { class: l.source === "example" ? "cp-hand cp-own" : "cp-hand", text: l.hand }) : null,
    );
  }
  /** Small pictures with their words. @param {[string, string][]} [list] */
  pictures(list) {
    return (list ?? []).map(([src, alt]) => {
      const i = h("img", { class: "cp-ref", alt, title: alt });
      i.src = src;
      return i;
    });
  }
  /** @param {Found[]} rows @param {string} label */
  cards(rows, label) {
    const box = h(
        "div",
        { class: "cp-cards", role: "group", "aria-label": label },
        rows.map((r, i) => this.card(r, i + 1)),
      ),
      first = box.querySelector("button");
    if (first) first.tabIndex = 0;
    roving(box, "button", this.p.signal);
    return box;
  }
  hint(/** @type {string} */ text, cls = "") {
    return h("p", { class: `ra-hint ${cls}`, text });
  }
  /** A field that asks on Enter. @param {string} label @param {string} value @param {(v:string)=>void} go @param {import("./kit.js").Attrs} [more] */
  asker(label, value, go, more = {}) {
    const f = field(label, () => {}, { size: "8", ...more });
    f.input.value = value;
    f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229 && f.input.value.trim()) go(f.input.value.trim());
    });
    return f;
  }
}
