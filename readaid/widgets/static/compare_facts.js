// What the likeness of two forms is made of, and counts corrected by hand.
import { button, field, h, refill } from "./kit.js";
import { t } from "./texts.js";

/** A count without its mark: corrected by hand "*", the machine's proposal "?"; where none was counted "–".
 * @param {string} cell @returns {string} */
export const bare = (cell) => cell.replace(/[*?–]$/, "");

/** What the likeness of two forms is made of, and counts corrected by hand. */
export class Facts {
  /** @param {import("./compare_panel.js").Compare} compare */
  constructor(compare) {
    this.compare = compare;
    this.mending = false;
  }
  /** Counts corrected by hand, a fieldset a form. @param {import("./school_states.js").ComparedForms} r */
  mend(r) {
    const side = (/** @type {string} */ id, /** @type {1|2} */ col, /** @type {string} */ title) => {
      const inputs = /** @type {Record<string, HTMLInputElement>} */ ({});
      const rows = this.compare.st.counts.map(([name, words], i) => {
        if (name === "proportions") return null;
        const x = field(words, () => {}, { inputmode: "numeric", size: "4" });
        x.input.value = bare(r.counts[i][col]);
        inputs[name] = x.input;
        return x.box;
      });
      return h(
        "fieldset",
        { class: "xp-mend" },
        h("legend", { text: title }),
        rows,
        button(
          t`Save`,
          () => {
            const fields = Object.fromEntries(Object.entries(inputs).map(([k, i]) => [k, i.value]));
            this.mending = false;
            this.compare.facts.focus();
            this.compare.ask("correct", { id, fields });
          },
          { class: "ra-button ra-small" },
        ),
      );
    };
    return h(
      "div",
      {},
      side(this.compare.st.a, 1, t`First form, counted by hand`),
      side(this.compare.st.b, 2, t`Second form, counted by hand`),
      button(
        t`Cancel`,
        () => {
          this.mending = false;
          this.compare.facts.focus();
          this.paintFacts();
        },
        { class: "ra-button ra-small" },
      ),
    );
  }
  paintFacts() {
    const r = this.compare.st.result;
    if (!r)
      return refill(
        this.compare.facts,
        h("p", {
          class: "ra-hint",
          text: this.compare.st.busy ? t`Laying the forms on each other …` : this.compare.st.words,
        }),
      );
    const note = field(t`Your note`, () => {}, { rows: 2, lang: "ja" });
    if (
      this.compare.facts.contains(document.activeElement) &&
      /** @type {HTMLElement} */ (document.activeElement).matches("textarea,input")
    )
      return;
    refill(
      this.compare.facts,
      h(
        "div",
        { class: "xp-told" },
        h(
          "div",
          { class: "xp-figure" },
          h("span", { class: "xp-number", text: r.likeness }),
          h("span", { text: t`likeness of form, 0 to 1` }),
        ),
        r.disagree ? h("p", { class: "ra-caution xp-disagree", text: r.disagree }) : null,
        this.parts(r),
        this.counts(r),
        this.mending
          ? this.mend(r)
          : button(
              t`Correct the counts …`,
              () => {
                this.mending = true;
                this.paintFacts();
              },
              { class: "ra-button ra-small", "data-key": "mend" },
            ),
        h("p", { text: r.laid }),
        r.notes.map((/** @type {string} */ n) => h("p", { class: "xp-note", text: n })),
        h("p", {}, h("small", { text: r.population })),
      ),
      h(
        "div",
        { class: "xp-keep" },
        note.box,
        button(t`Keep this comparison`, () => this.compare.ask("keep", { note: note.input.value }), {
          class: "ra-button ra-main",
          "data-key": "keepx",
        }),
      ),
    );
  }
  /** What the likeness is made of. @param {import("./school_states.js").ComparedForms} r */
  parts(r) {
    return h(
      "table",
      {},
      h("caption", { class: "ra-sr", text: t`What the likeness is made of` }),
      h(
        "tbody",
        {},
        r.parts.map(([k, v]) =>
          h(
            "tr",
            {},
            h("th", { scope: "row", text: k }),
            h("td", {}, h("span", { class: "xp-bar" }, h("span", { style: `width:${Math.round(v * 100)}%` }))),
            h("td", { class: "xp-num", text: v.toFixed(2) }),
          ),
        ),
      ),
    );
  }
  /** What was counted on both forms. @param {import("./school_states.js").ComparedForms} r */
  counts(r) {
    return h(
      "table",
      { class: "xp-counts" },
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          r.heads.map((x) => h("th", { scope: "col", text: x })),
        ),
      ),
      h(
        "tbody",
        {},
        r.counts.map((c) =>
          h(
            "tr",
            {},
            c.map((x, i) => h(i ? "td" : "th", i ? { text: x } : { scope: "row", text: x })),
          ),
        ),
      ),
    );
  }
}
