// A Chinese line: its signs with on, kun and tone, its rhyme, and the reader's own marks and Japanese wording.
import { button, h, refill, table } from "./kit.js";
import { t } from "./texts.js";

/** The part of the drawer that shows a Chinese line; empty where the signs make none. */
export class ChineseLine {
  /** @param {import("./reading_panel.js").Reading} p the reading panel */
  constructor(p) {
    this.p = p;
    this.box = h("div", {});
    this.of = "";
    this.marked = h("input", { type: "text", lang: "ja", size: 34, "aria-label": t`The line with its return marks` });
    this.japanese = h("input", { type: "text", lang: "ja", size: 34, "aria-label": t`Your own Japanese wording` });
  }
  paint() {
    const { st, ask } = this.p,
      c = st.chinese;
    if (c && this.of !== c.signs) {
      this.of = c.signs;
      this.marked.value = c.signs.replace(/\n/g, "");
    }
    refill(
      this.box,
      c
        ? [
            h("h3", { text: t`A Chinese line` }),
            table([t`Sign`, t`On`, t`Kun`, t`Tone`], c.rows),
            c.words.map((/** @type {string} */ w) => h("p", { text: w })),
            h("p", { class: "ra-hint", text: c.known }),
            h("p", {
              class: "ra-hint",
              text: t`Return marks in brackets: 登[二]高山[一]. Your wording is kept, never judged.`,
            }),
            h("div", { class: "ra-group" }, this.marked, this.japanese),
            button(t`Keep this`, () => ask("chinese", { marked: this.marked.value, japanese: this.japanese.value }), {
              "data-key": "chinese",
              class: "ra-button ra-small",
            }),
          ]
        : null,
    );
  }
}
