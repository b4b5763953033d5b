// Ways to find a letter: by sound, parent kanji, part, shape, look-alikes; what was found as cards of one height.
import { button, choice, field, h, ja, oneOf, refill, roving } from "./kit.js";

const ROWS = [
  "あいうえお",
  "かきくけこ",
  "さしすせそ",
  "たちつてと",
  "なにぬねの",
  "はひふへほ",
  "まみむめも",
  "や　ゆ　よ",
  "らりるれろ",
  "わゐ　ゑを",
  "ん",
];
const MARKS = [
  ["ゝ", "repeats one kana"],
  ["〱", "repeats a group"],
  ["々", "repeats a kanji"],
  ["〻", "repeats a kanji word"],
  ["ゟ", "より"],
  ["ヿ", "こと"],
];
/** @type {[string, string][]} */
const PLACES = [
  ["", "anywhere"],
  ["left", "left (hen)"],
  ["right", "right (tsukuri)"],
  ["top", "top (kanmuri)"],
  ["bottom", "bottom (ashi)"],
  ["over the left", "over the left (tare)"],
  ["under the right", "under the right (nyō)"],
  ["around", "around (kamae)"],
  ["inside", "inside"],
  ["bottom left", "bottom left"],
  ["bottom right", "bottom right"],
];
/** @type {[string, string][]} */
const WAYS = [
  ["sound", "Sound"],
  ["parent", "Parent"],
  ["part", "Part"],
  ["shape", "Shape"],
  ["alike", "Look-alikes"],
];
const NAMES = /** @type {Record<string, string>} */ ({
  sound: "By sound",
  parent: "By parent kanji",
  part: "By part",
  shape: "By shape",
  alike: "Look-alikes",
});

export class Finder {
  /** @param {any} p the sign's panel */
  constructor(p) {
    this.p = p;
    this.way = "sound";
    this.sound = "";
    this.part = "";
    this.partPlace = "";
    this.alike = "";
    this.parent = "";
    this.asked = ""; // the way whose fields stand in ``asking``
    this.wayBox = h("div", { class: "cp-ways" });
    this.asking = h("div", { class: "cp-asking" });
    this.results = h("div", { class: "cp-results" });
    this.box = h(
      "div",
      { class: "cp-finder" },
      h("div", { class: "cp-wayline" }, p.typed.input, this.wayBox),
      h("div", { class: "cp-found" }, this.asking, this.results),
    );
    this.results.addEventListener("pointerout", () => p.pair.point(null), { signal: p.signal });
  }
  /** Another sign: what was asked by shape is asked for this one, too. */
  other() {
    if (this.way === "shape") this.p.ask("shape");
    const first = this.p.st.candidates[0];
    if (this.way === "alike" && first) {
      this.alike = first.character;
      this.p.ask("alike", { character: this.alike });
    }
  }
  /** Enter the n-th card that is shown. @param {number} n */
  pick(n) {
    const card = /** @type {any} */ (this.results.querySelectorAll(".cp-card")[n - 1]);
    card?.click();
    return Boolean(card);
  }
  go(/** @type {string} */ way) {
    const { p } = this;
    this.way = way;
    this.paint();
    if (way === "shape" && p.st.shape.state === "none") p.ask("shape");
    if (way === "alike") {
      this.alike = p.st.candidates[0]?.character ?? this.alike;
      if (this.alike) p.ask("alike", { character: this.alike });
    }
  }
  paint() {
    const { p, way } = this,
      st = p.st,
      at = /** @type {HTMLElement} */ (document.activeElement),
      typing = this.asking.contains(at) && at.matches("input[type=text]");
    const ways = oneOf("Find the letter", WAYS, way, (w) => this.go(w), "way");
    WAYS.forEach(([w], i) => {
      ways.children[i].setAttribute("aria-label", NAMES[w]);
      ways.children[i].setAttribute("title", NAMES[w]);
    });
    refill(
      this.wayBox,
      ways,
      choice(
        "How sure a new candidate is",
        st.values.map((/** @type {any} */ [w, v]) => [String(v), w]),
        String(st.sure),
        (v) => p.ask("as", { confidence: +v }),
        { "data-key": "sure", title: "How sure of what you enter next" },
      ),
    );
    const [kids, shown] = this[/** @type {"sound_"} */ (`${way}_`)]();
    this.asking.dataset.way = way;
    // Taking out the field that is being typed in would end a Japanese conversion: then only what was found is drawn again.
    const top = this.asked === way ? (this.results.querySelector(".cp-cards")?.scrollTop ?? 0) : 0;
    if (!typing || this.asked !== way) refill(this.asking, kids);
    refill(this.results, shown);
    const list = this.results.querySelector(".cp-cards");
    if (list) list.scrollTop = top;
    this.asked = way;
  }
  /** A letter to pick. @param {any} l */
  card(l, n = 0) {
    const { p } = this,
      on = p.st.candidates.some((/** @type {any} */ c) => c.character === l.character);
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
  /** @param {any[]} rows @param {string} label */
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
  /** A field that asks on Enter. @param {string} label @param {string} value @param {(v:string)=>void} go @param {any} [more] */
  asker(label, value, go, more = {}) {
    const f = field(label, () => {}, { size: "8", ...more });
    f.input.value = value;
    f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229 && f.input.value.trim()) go(f.input.value.trim());
    });
    return f;
  }

  // --- the ways, each: what is asked with, what was found ------------------------------------------
  sound_() {
    const { p } = this,
      st = p.st;
    const grid = h(
      "div",
      { class: "cp-kana", role: "group", "aria-label": "Sounds" },
      ROWS.map((r) =>
        h(
          "div",
          { class: "cp-kanacol" },
          [...r].map((k) =>
            k === "　"
              ? h("span", { class: "cp-hole" })
              : h(
                  "button",
                  {
                    type: "button",
                    class: "ra-button cp-k",
                    lang: "ja",
                    tabindex: k === (this.sound || "あ") ? "0" : "-1",
                    "data-key": `k-${k}`,
                    "aria-pressed": String(k === this.sound),
                    onclick: () => {
                      this.sound = k;
                      p.ask("by_sound", { sound: k });
                    },
                  },
                  k,
                ),
          ),
        ),
      ),
    );
    grid.addEventListener("keydown", (e) => this.walk(e, grid));
    const marks = h(
      "div",
      { class: "cp-marks" },
      MARKS.map(([m, t]) =>
        h(
          "button",
          {
            type: "button",
            class: "ra-button cp-mark",
            lang: "ja",
            title: t,
            "aria-label": `${m}, ${t}`,
            "data-key": `m-${m}`,
            onclick: () => p.ask("tag", { candidate: m, confidence: st.sure }),
          },
          m,
        ),
      ),
    );
    const found = st.found?.by === "sound";
    return [
      [h("div", { class: "cp-board" }, grid, marks)],
      found
        ? [this.hint(st.found.words), this.cards(st.found.rows, "Letters of this sound")]
        : [this.hint("Choose a sound: all its letters appear here, each with its parent kanji.")],
    ];
  }
  /** Arrow keys on the board of sounds. @param {KeyboardEvent} e @param {HTMLElement} grid */
  walk(e, grid) {
    const keys = [...grid.querySelectorAll("button")],
      here = /** @type {HTMLElement} */ (document.activeElement),
      r = here.getBoundingClientRect();
    const d = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] }[e.key];
    if (!d || !keys.includes(/** @type {any} */ (here))) return;
    e.preventDefault();
    const next = keys
      .map((b) => ({ b, q: b.getBoundingClientRect() }))
      .filter(({ q }) =>
        d[0]
          ? (q.left - r.left) * d[0] > 5 && Math.abs(q.top - r.top) < 5
          : (q.top - r.top) * d[1] > 5 && Math.abs(q.left - r.left) < 5,
      )
      .sort(
        (a, b) => Math.hypot(a.q.left - r.left, a.q.top - r.top) - Math.hypot(b.q.left - r.left, b.q.top - r.top),
      )[0];
    if (next) {
      here.tabIndex = -1;
      next.b.tabIndex = 0;
      next.b.focus();
    }
  }
  parent_() {
    const { p } = this,
      go = (/** @type {string} */ v) => {
        this.parent = v;
        p.ask("by_parent", { parent: v });
      };
    const f = this.asker("Parent kanji, old or new form (加, 可, 閑 …)", this.parent, go, { lang: "ja" }),
      found = p.st.found?.by === "parent";
    return [
      [
        h(
          "div",
          { class: "cp-line" },
          f.box,
          button("Find", () => f.input.value.trim() && go(f.input.value.trim()), {
            class: "ra-button",
            "data-key": "parent-go",
          }),
        ),
      ],
      found ? [this.hint(p.st.found.words), this.cards(p.st.found.rows, "Letters from this kanji")] : [],
    ];
  }
  part_() {
    const { p } = this,
      go = (/** @type {string} */ v) => {
        this.part = v;
        p.ask("by_part", { part: v, place: this.partPlace });
      };
    const f = this.asker("Part that can be seen (氵, 木, 寺, water …)", this.part, go),
      found = p.st.found?.by === "part";
    return [
      [
        h(
          "div",
          { class: "cp-line" },
          f.box,
          choice(
            "Where it stands",
            PLACES,
            this.partPlace,
            (v) => {
              this.partPlace = v;
              if (f.input.value.trim()) go(f.input.value.trim());
            },
            { "data-key": "part-place" },
          ),
          button("Find", () => f.input.value.trim() && go(f.input.value.trim()), {
            class: "ra-button",
            "data-key": "part-go",
          }),
        ),
      ],
      found ? [this.hint(p.st.found.words), this.cards(p.st.found.rows, "Kanji with this part")] : [],
    ];
  }
  alike_() {
    const { p } = this,
      st = p.st,
      go = (/** @type {string} */ v) => {
        this.alike = v;
        p.ask("alike", { character: v });
      };
    const f = this.asker("Look-alikes of (one kana, letter or kanji)", this.alike, go, { lang: "ja", size: "6" });
    const others =
      st.candidates.length > 1
        ? h(
            "span",
            { class: "ra-group" },
            st.candidates.map((/** @type {any} */ c) =>
              button(
                "",
                () => {
                  f.input.value = c.character;
                  go(c.character);
                },
                {
                  class: "ra-button cp-mark ra-ja",
                  "data-key": `al-${c.character}`,
                  "aria-label": `Look-alikes of ${c.character}`,
                  lang: "ja",
                  text: c.character,
                },
              ),
            ),
          )
        : null;
    const shown = [];
    if (st.found?.by === "alike") {
      if (st.found.forms.length)
        shown.push(
          h(
            "div",
            { class: "cp-forms" },
            ja(st.found.of, "ra-ja cp-big"),
            ...this.pictures(st.found.forms),
            h("small", { text: "as fonts of brush hands draw it" }),
          ),
        );
      shown.push(this.hint(st.found.words));
      if (st.found.rows.length) shown.push(this.cards(st.found.rows, `Taken for ${st.found.of}`));
    } else
      shown.push(
        this.hint("Enter a candidate, or write a character here, to see what it is commonly confused with in cursive."),
      );
    return [
      [
        h(
          "div",
          { class: "cp-line" },
          f.box,
          button("Show", () => f.input.value.trim() && go(f.input.value.trim()), {
            class: "ra-button",
            "data-key": "alike-go",
          }),
          others,
        ),
      ],
      shown,
    ];
  }
  shape_() {
    const { p } = this,
      st = p.st,
      s = st.shape,
      best = st.candidates[0]?.character,
      shown = [];
    const kids = [
      h(
        "div",
        { class: "cp-line" },
        oneOf(
          "Among",
          [
            ["all", "All letters"],
            ["kana", "Kana only"],
            ["kanji", "Kanji only"],
          ],
          s.among,
          (v) => p.ask("shape", { among: v }),
          "among",
        ),
        st.traced
          ? oneOf(
              "Compare",
              [
                ["", "The crop"],
                ["1", "The tracing"],
              ],
              s.tracing ? "1" : "",
              (v) => p.ask("shape", { tracing: Boolean(v) }),
              "traced",
            )
          : null,
        button("Look again", () => p.ask("shape"), { "data-key": "again", class: "ra-button ra-small" }),
      ),
    ];
    shown.push(s.rows?.length ? this.cards(s.rows, "Letters of similar shape") : null);
    shown.push(this.hint(s.words));
    if (s.none && s.state === "ready") shown.push(this.hint(s.none, "cp-none"));
    if (s.sounds?.length)
      shown.push(
        h(
          "div",
          { class: "ra-group cp-sounds" },
          h("span", { class: "ra-label", text: "Sounds, all letters of each together" }),
          s.sounds.map((/** @type {[string, string]} */ [k, share]) =>
            h(
              "button",
              {
                type: "button",
                class: "ra-button ra-small",
                "data-key": `so-${k}`,
                "aria-label": `${k}, ${share}: show its letters`,
                onclick: () => {
                  this.way = "sound";
                  this.sound = k;
                  p.ask("by_sound", { sound: k });
                },
              },
              ja(k, ""),
              ` ${share}`,
            ),
          ),
        ),
      );
    if (s.state !== "busy")
      shown.push(
        h(
          "div",
          { class: "ra-group cp-learn" },
          button(
            best ? `Remember this ${s.tracing ? "tracing" : "crop"} as ${best}` : "Remember this crop",
            () => p.ask("learn"),
            { class: "ra-button ra-small ra-ja", "data-key": "learn", disabled: !best },
          ),
          h("small", { text: "Crops you remember make the proposals better at once." }),
        ),
      );
    if (st.own?.length)
      shown.push(
        h(
          "div",
          { class: "cp-owns", role: "group", "aria-label": "Your own crops" },
          h("span", { class: "ra-label", text: "Your own crops" }),
          st.own.map((/** @type {any} */ o) =>
            h(
              "span",
              { class: "cp-ownrow" },
              ja(o.character, "ra-ja"),
              h("small", { text: o.where }),
              button("Take back", () => p.ask("forget", { example: o.id }), {
                class: "ra-button ra-small",
                "data-key": `fo-${o.id}`,
                "aria-label": `Take back your example of ${o.character}, ${o.where}`,
              }),
            ),
          ),
        ),
      );
    return [kids, shown];
  }
}
