// The signature taken apart, the people it may name, the dates that fit. Alternatives, never one forced reading.
import { button, choice, field, fold, h, ja, refill, table } from "./kit.js";
import { Fold } from "./panel_fold.js";
import { panel } from "./panel_frame.js";
import { People } from "./signature_people.js";
import { inLanguage, t } from "./texts.js";

/** The panel of a signature. */
export class Signature {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").SignaturePanelAsks, import("./school_states.js").SignaturePanelState>} */
    const made = panel(given, "sp", t`Signature, people, date`);
    this.fold = new Fold(made, "sp", "school");
    this.persons = new People(this);
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.letters = made.letters;
    this.st = /** @type {import("./school_states.js").SignaturePanelState} */ ({});
    this.bar = h("div", {});
    this.text = field(t`The signature as it stands (? for an unread sign)`, (v) => this.ask("text", { text: v }), {
      lang: "ja",
      class: "ra-input sp-text",
    });
    this.parses = h("div", { class: "sp-ways" });
    this.people = h("div", { class: "sp-people" });
    this.dates = h("div", { class: "sp-dates" });
    this.date = field(t`The date as it stands (〇 or ? for an unread sign)`, (v) => this.ask("date", { text: v }), {
      lang: "ja",
      class: "ra-input sp-text",
    });
    this.period = field(
      t`Working period (two Western years; other dates are folded away)`,
      (v) => this.ask("period", { text: v }),
      { class: "ra-input" },
    );
    this.seal = h("div", { class: "sp-seal" });
    this.grid = h("input", {
      type: "text",
      value: "2 2",
      size: 8,
      "aria-label": t`Characters of each column, from the right`,
    });
    this.sketch = h("input", {
      type: "text",
      size: 30,
      lang: "ja",
      placeholder: "1.1 木; 2.1 氵 可",
      "aria-label": t`Parts seen, by column and place`,
    });
    this.lay();
    this.editing = "";
    this.show((now) => now?.roles && this.take(now));
  }
  /** What Python tells. @param {import("./school_states.js").SignaturePanelState} now */
  take(now) {
    this.st = now;
    this.fold.holds(now.text.trim() || now.signature_words);
    refill(
      this.bar,
      choice(
        t`Inscription`,
        this.st.inscriptions,
        this.st.inscription,
        (v) => this.ask("inscription", { inscription: v }),
        { "data-key": "insc" },
      ),
    );
    this.text.put(this.st.text);
    this.date.put(this.st.date_text);
    this.period.put(this.st.period);
    this.paintParses();
    this.paintDates();
    this.paintSeal();
    this.persons.paintPeople();
    this.root.dataset.parses = String(this.st.parses.length);
    this.letters();
  }
  paintParses() {
    const way = (/** @type {import("./school_states.js").ParseRow} */ p, /** @type {number} */ i) =>
      h(
        "div",
        { class: `sp-parse ${i ? "" : "sp-first"}` },
        h(
          "div",
          { class: "sp-parts", role: "list" },
          p.parts.map((x) =>
            h(
              "div",
              { class: "sp-part", role: "listitem" },
              ja(x.text, "ra-ja sp-big"),
              h("b", { text: x.kind }),
              x.readings ? h("small", { text: x.readings }) : null,
              x.meaning ? h("small", { text: x.meaning }) : null,
            ),
          ),
        ),
        h(
          "div",
          { class: "sp-keep" },
          p.kept
            ? h("span", { class: "sp-kept", text: t`✓ in the register` })
            : button(t`Write this way down`, () => this.ask("keep_signature", { index: i }), {
                class: "ra-button ra-small",
                "data-key": `p-${i}`,
              }),
          h(
            "div",
            {},
            h("small", { text: p.words }),
            p.checks.map((c) => h("small", { class: "sp-check", text: c })),
          ),
        ),
      );
    const others = this.st.parses.slice(1).map((p, i) => way(p, i + 1));
    refill(
      this.parses,
      this.st.parses.length
        ? [
            way(this.st.parses[0], 0),
            others.length
              ? fold(
                  others.length > 1 ? t`${others.length} other ways` : t`One other way`,
                  others,
                  Boolean(this.parses.querySelector("details")?.open),
                )
              : null,
          ]
        : h("p", { class: "ra-hint", text: this.st.signature_words }),
    );
  }
  paintDates() {
    const rows = (/** @type {boolean} */ folded) =>
      table(
        [t`Era and year`, t`Cycle`, t`Western days`, ""],
        this.st.datings.flatMap((d, i) => (d.folded === folded ? [this.dating(d, i)] : [])),
      );
    const far = this.st.datings.filter((d) => d.folded).length;
    refill(
      this.dates,
      h(
        "div",
        { class: "sp-head" },
        h("h3", { text: t`Dates that fit` }),
        this.st.datings.length ? h("small", { text: this.st.date_words }) : null,
        this.st.kept_dates.length
          ? h(
              "span",
              {},
              t`In the register: `,
              this.st.kept_dates.map((d) => h("span", { class: "sp-keptdate" }, ja(d.text), ` ${d.range} `)),
            )
          : null,
      ),
      this.st.datings.length
        ? [
            h("div", { class: "sp-rows" }, rows(false)),
            far
              ? fold(
                  t`${far} more outside the working period`,
                  [rows(true)],
                  Boolean(this.dates.querySelector("details")?.open),
                )
              : null,
          ]
        : h("p", { class: "ra-hint", text: this.st.date_words }),
    );
  }
  /** The elements, in their order. */
  paintSeal() {
    const rows = this.st.seal ?? [];
    refill(this.seal, rows.length ? table([t`Place`, t`Parts seen`, t`How it stands`], rows) : null);
  }
  lay() {
    this.body.append(
      h("div", { class: "sp-asked" }, this.bar, this.text.box),
      h("h3", { text: t`Parts, the likeliest way first` }),
      this.parses,
      h("div", { class: "sp-asked sp-when" }, this.date.box, this.period.box),
      this.dates,
      this.people,
      fold(t`A seal: seal script is not read here, but there are things to look for`, [
        h(
          "div",
          { class: "ra-group" },
          this.grid,
          this.sketch,
          button(t`Look up`, () => this.ask("seal", { columns: this.grid.value, sketch: this.sketch.value }), {
            class: "ra-button ra-small",
            "data-key": "seal",
          }),
        ),
        this.seal,
      ]),
      h(
        "p",
        { class: "ra-caution" },
        t`A name on a piece is a claim, not a proof: signatures were added later, written by pupils with leave, and forged. A monogram may belong to an appraiser, not to the maker.`,
      ),
    );
  }
  /** A date that fits: era, cycle, Western days, and keeping it. @param {import("./school_states.js").DatingRow} d @param {number} i */
  dating(d, i) {
    const no = d.disagrees,
      keep = { class: "ra-button ra-small", "data-key": `d-${i}`, "aria-label": t`Keep ${d.era} ${d.range}` };
    return [
      d.era,
      h("div", {}, ja(d.cycle), h("div", { class: no ? "sp-no" : "sp-yes", text: d.agrees })),
      h("div", {}, d.range, d.notes ? h("div", {}, h("small", { text: d.notes })) : null),
      button(t`Keep`, () => this.ask("keep_date", { index: i }), keep),
    ];
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Signature(given);
}

export default { render: inLanguage(render) };
