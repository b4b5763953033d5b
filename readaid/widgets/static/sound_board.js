// The board of sounds: fifty sounds, repeat marks, and the letters of the one that was chosen.
import { h } from "./kit.js";
import { t } from "./texts.js";

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
const MARKS = () => [
  ["ゝ", t`repeats one kana`],
  ["〱", t`repeats a group`],
  ["々", t`repeats a kanji`],
  ["〻", t`repeats a kanji word`],
  ["ゟ", "より"],
  ["ヿ", "こと"],
];

/** The board of sounds. */
export class SoundBoard {
  /** @param {import("./letter_finder.js").Finder} finder */
  constructor(finder) {
    this.finder = finder;
  }

  // --- the ways, each: what is asked with, what was found ------------------------------------------
  /** @returns {import("./letter_finder.js").Asked} */
  sound_() {
    const { p } = this.finder,
      st = p.st;
    const grid = h(
      "div",
      { class: "cp-kana", role: "group", "aria-label": t`Sounds` },
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
                    tabindex: k === (this.finder.sound || "あ") ? "0" : "-1",
                    "data-key": `k-${k}`,
                    "aria-pressed": String(k === this.finder.sound),
                    onclick: () => {
                      this.finder.sound = k;
                      p.ask("by_sound", { sound: k });
                    },
                  },
                  k,
                ),
          ),
        ),
      ),
    );
    grid.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => this.walk(e, grid));
    const marks = this.marks();
    const found = st.found?.by === "sound" ? st.found : null;
    return [
      [h("div", { class: "cp-board" }, grid, marks)],
      found
        ? [this.finder.hint(found.words), this.finder.cards(found.rows, t`Letters of this sound`)]
        : [this.finder.hint(t`Choose a sound: all its letters appear here, each with its parent kanji.`)],
    ];
  }
  /** Arrow keys on the board of sounds. @param {KeyboardEvent} e @param {HTMLElement} grid */
  walk(e, grid) {
    const keys = [...grid.querySelectorAll("button")],
      here = /** @type {HTMLElement} */ (document.activeElement),
      r = here.getBoundingClientRect();
    const d = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] }[e.key];
    if (!d || !keys.some((k) => k === here)) return;
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
  /** Marks that repeat, and two joined kana. */
  marks() {
    const { p } = this.finder;
    return h(
      "div",
      { class: "cp-marks" },
      MARKS().map(([m, words]) =>
        h(
          "button",
          {
            type: "button",
            class: "ra-button cp-mark",
            lang: "ja",
            title: words,
            "aria-label": `${m}, ${words}`,
            "data-key": `m-${m}`,
            onclick: () => p.ask("tag", { candidate: m, confidence: p.st.sure }),
          },
          m,
        ),
      ),
    );
  }
}
