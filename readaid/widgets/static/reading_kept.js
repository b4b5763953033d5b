// The reader's own words, known verses, attempts kept.
import { button, h, refill } from "./kit.js";
import { lines } from "./reading_words.js";
import { t } from "./texts.js";

/** The reader's own words, known verses, attempts kept. */
export class KeptReadings {
  /** @param {import("./reading_drawer.js").Drawer} drawer */
  constructor(drawer) {
    this.drawer = drawer;
    this.verses = h("input", {
      type: "text",
      placeholder: t`your own verses: path of a CSV, TEI or text file`,
      "aria-label": t`File of your own verses, searched too`,
      size: 34,
    });
  }
  paintOwn() {
    const { p } = this.drawer,
      { st } = p;
    refill(
      this.drawer.counted,
      st.own?.busy
        ? h("span", { class: "ra-group" }, h("progress", { "aria-label": st.own.words }), st.own.words)
        : st.own?.lines?.length
          ? [lines(st.own.lines), h("small", { text: st.own.words })]
          : [],
    );
    refill(
      this.drawer.ownKeep,
      button(t`Keep your own …`, () => p.keep(-2), { "data-key": "keep-own", class: "ra-button ra-small" }),
    );
  }
  paintKnown() {
    const { st, ask } = this.drawer.p;
    refill(
      this.drawer.known,
      h(
        "div",
        { class: "ra-group" },
        button(t`Look for it`, () => ask("known", { collection: this.verses.value }), {
          "data-key": "known",
          class: "ra-button ra-small",
        }),
        this.verses,
        h("span", {
          class: "ra-hint",
          text:
            st.known.words ||
            t`Compares your candidates, gaps and all, with the verses kept here. Look only after you have read for yourself: a known verse biases the eye.`,
        }),
        st.known.busy ? this.drawer.p.stop("known-stop") : null,
      ),
      st.known.rows.length
        ? h(
            "table",
            {},
            h(
              "thead",
              {},
              h(
                "tr",
                {},
                [t`Verdict`, t`The verse`, t`Whose, where`, t`What differs`, t`By chance`].map((x) =>
                  h("th", { scope: "col", text: x }),
                ),
              ),
            ),
            h(
              "tbody",
              {},
              st.known.rows.map((r) =>
                h(
                  "tr",
                  {},
                  r.map((x) => h("td", { text: x })),
                ),
              ),
            ),
          )
        : null,
    );
  }
  paintKept() {
    const { st } = this.drawer.p;
    refill(
      this.drawer.kept,
      st.attempts.length
        ? h(
            "table",
            {},
            h(
              "thead",
              {},
              h(
                "tr",
                {},
                [t`Reading`, t`Sure`, t`Status`, t`Reader`, t`When`].map((x) => h("th", { scope: "col", text: x })),
              ),
            ),
            h(
              "tbody",
              {},
              st.attempts.map((a) =>
                h(
                  "tr",
                  {},
                  h("td", { text: a.text }),
                  h("td", { text: a.sure }),
                  h("td", { text: a.status }),
                  h("td", { text: a.reader }),
                  h("td", { text: a.when }),
                ),
              ),
            ),
          )
        : h("p", {
            class: "ra-hint",
            text: t`None yet. Each reading you keep stays in the register with its reasons; a later one never overwrites it.`,
          }),
    );
  }
}
