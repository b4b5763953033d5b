// What was entered of a sign: each candidate with its four words and its number; what survives of the sign.
import { button, choice, h, ja, named, oneOf, refill, wordFor } from "./kit.js";
import { t } from "./texts.js";

/** The share a candidate was proposed with, and how it stands with its neighbours. @param {import("./sign_states.js").CandidateRow} c */
const provenance = (c) => {
  return [
    c.probability === null
      ? ""
      : `${c.source === "example" ? t`by your own example` : t`by shape`} ${Math.round(c.probability * 100)} %`,
    c.after === null ? "" : t`with its neighbours ${c.after}`,
  ]
    .filter(Boolean)
    .join(", ");
};

/** What was entered of the sign at work. */
export class Entries {
  /** @param {import("./character_panel.js").Sign} p */
  constructor(p) {
    this.p = p;
    this.list = h("div", { class: "cp-list" });
    this.state = h("div", { class: "cp-state" });
  }
  paintList() {
    const { p } = this,
      { st } = p;
    const rows = st.candidates.map((c) => this.row(c));
    refill(
      this.list,
      rows.length
        ? rows
        : h("p", {
            class: "ra-hint",
            text: t`Nothing entered. Type what you see, or find the letter in one of the ways below. Enter as many as you think possible.`,
          }),
    );
  }
  /** A candidate: its letter, how sure in words and as a number, taking it away. @param {import("./sign_states.js").CandidateRow} c */
  row(c) {
    const { ask } = this.p,
      told = provenance(c),
      word = wordFor(c.confidence, this.p.st.words);
    return h(
      "div",
      {
        class: "cp-cand",
        role: "group",
        "aria-label": t`Candidate ${[c.character, c.about].filter(Boolean).join(" ")}`,
      },
      h("div", { class: "cp-glyph" }, ja(c.character), h("small", {}, ja(c.about, ""))),
      h(
        "div",
        { class: "cp-sure" },
        h("span", { class: "cp-words" }, this.words(c, word), this.fine(c)),
        h("small", { class: "cp-word", text: word, title: told }),
        told ? h("small", { title: told, text: told }) : null,
        c.note ? h("small", { class: "cp-note", lang: "ja", title: c.note, text: c.note }) : null,
        this.why(c),
      ),
      button("✕", () => ask("untag", { candidate: c.character }), {
        class: "ra-button ra-small cp-away",
        title: t`Take away`,
        "aria-label": t`Take ${c.character} away`,
        "data-key": `x-${c.character}`,
      }),
    );
  }
  /** Why a candidate is not taken: asked of the ones that are not the surest. @param {import("./sign_states.js").CandidateRow} c */
  why(c) {
    const { st, ask } = this.p;
    if (c === st.candidates[0] && !c.rejected) return null;
    const said = h("input", {
      class: "cp-why",
      lang: "ja",
      value: c.rejected,
      placeholder: t`why not?`,
      title: c.rejected || t`Why it is not this one; the report tells it`,
      "aria-label": t`Why not ${c.character}`,
      "data-key": `why-${c.character}`,
      onchange: () => ask("reject", { candidate: c.character, why: said.value }),
    });
    return said;
  }
  /** How sure, as a number. @param {import("./sign_states.js").CandidateRow} c */
  fine(c) {
    const { ask } = this.p;
    const fine = h("input", {
      type: "number",
      min: "0",
      max: "1",
      step: "0.05",
      class: "cp-fine",
      "aria-label": t`How sure of ${c.character}, 0 to 1`,
      "data-key": `s-${c.character}`,
      value: c.confidence.toFixed(2),
      onchange: () => ask("sure", { candidate: c.character, confidence: Math.min(1, Math.max(0, +fine.value || 0)) }),
    });
    return fine;
  }
  /** How sure, in four words. @param {import("./sign_states.js").CandidateRow} c @param {string} word */
  words(c, word) {
    const { st, ask } = this.p;
    const value = (/** @type {string} */ w) => st.values.find((v) => v[0] === w)?.[1] ?? 0;
    const at = st.values.findIndex((v) => v[0] === word);
    const words = oneOf(
      t`How sure of ${c.character}`,
      st.values.map(([w]) => [w, ""]),
      word,
      (w) => ask("sure", { candidate: c.character, confidence: value(w) }),
      `w-${c.character}`,
    );
    [...words.children].forEach((b, i) => {
      named(b, st.values[i][0]);
      b.classList.toggle("cp-upto", i <= at);
    });

    return words;
  }
  /** How many signs are missing, at least or at most. @param {string} label @param {number} v @param {string} key */
  number(label, v, key) {
    const low = (/** @type {string} */ n) =>
      +(/** @type {HTMLInputElement} */ (this.state.querySelector(`[data-key=${n}]`)).value);
    const change = () => this.p.ask("mark", { fields: { missing: [low("low"), Math.max(low("low"), low("high"))] } });
    return h("input", {
      type: "number",
      min: "0",
      max: "30",
      class: "ra-input cp-num",
      "aria-label": label,
      "data-key": key,
      value: String(v),
      onchange: change,
    });
  }
  paintState() {
    const { p } = this,
      { st, ask } = p;
    refill(
      this.state,
      choice(t`What survives`, st.damages, st.damage, (v) => ask("mark", { fields: { damage: v } }), {
        "data-key": "damage",
        title: t`How much survives is one thing, how sure you are of the letter another`,
      }),
      st.damage === "lost" || st.missing[1] !== 1 || st.missing[0] !== 1
        ? [
            this.number(t`Least number of signs missing`, st.missing[0], "low"),
            h("span", { class: "ra-label", text: "–" }),
            this.number(t`Most signs missing`, st.missing[1], "high"),
          ]
        : null,
      button(t`Trace`, () => p.trace(), {
        class: "ra-button ra-small",
        "data-key": "trace",
        title: t`Trace the strokes of this sign; Escape or Reading above leads back`,
      }),
      button(t`Mark as unread`, () => ask("unread"), {
        class: "ra-button ra-small",
        "data-key": "unread",
        disabled: !st.candidates.length, // its place is kept: the note beside it moved when the first candidate came
        title: t`Takes all candidates away; they stay in the history. Or type ?`,
      }),
    );
  }
}
