// More of the reading, above its line: all readings, the chosen sign in its place, own words, known verses, attempts.
import { button, choice, field, h, ja, oneOf, refill } from "./kit.js";

const surplus = (/** @type {number|null} */ n) =>
  n === null || n === undefined ? "" : n === 0 ? "fits" : n > 0 ? `${n} too many` : `${-n} too few`;
/** Parts of a line, what nobody judged marked apart. @param {any[]} of */
export const parts = (of) =>
  of.map((p) =>
    h("span", {
      class: p.restored ? "rp-restored" : p.shape ? "rp-shape" : null,
      title: p.restored ? "supplied, not seen" : p.shape ? "from shape alone, judged by nobody" : null,
      text: p.text,
    }),
  );
const lines = (/** @type {any[]} */ rows) =>
  h(
    "table",
    { class: "rp-lines" },
    h(
      "tbody",
      {},
      rows.map((l) =>
        h(
          "tr",
          {},
          h("td", { class: "rp-line", lang: "ja" }, parts(l.parts)),
          h(
            "td",
            { class: "rp-morae" },
            h("b", { text: String(l.morae) }),
            l.want === null ? " morae" : ` of ${l.want}`,
          ),
          h("td", { class: l.surplus ? "rp-off" : "rp-fits", text: surplus(l.surplus) }),
          h(
            "td",
            { class: "rp-rules" },
            l.rules.map((/** @type {string} */ r) => h("span", { class: "rp-rule", lang: "ja", text: r })),
          ),
        ),
      ),
    ),
  );

export class Drawer {
  /** @param {any} p the panel */
  constructor(p) {
    this.p = p;
    this.open = false;
    this.unfolded = 0;
    this.spread = false;
    this.own = field(
      "Your own reading, a line for each line of the verse (? for an unread sign)",
      (v) => p.ask("own", { text: v }),
      { rows: 3, lang: "ja" },
    );
    this.counted = h("div", { class: "rp-counted" });
    this.ownKeep = h("div", {});
    this.bar = h("div", { class: "ra-bar" });
    this.shape = h("div", { class: "rp-byshape" });
    this.one = h("div", { class: "rp-one", role: "group", "aria-label": "The chosen sign in its place" });
    this.list = h("div", { class: "rp-list", role: "list", "aria-label": "Readings, best first" });
    this.kept = h("div", {});
    this.known = h("div", {});
    this.verses = h("input", {
      type: "text",
      placeholder: "your own verses: path of a CSV, TEI or text file",
      "aria-label": "File of your own verses, searched too",
      size: 34,
    });
    this.box = h(
      "div",
      { class: "rp-drawer", hidden: true },
      this.bar,
      this.shape,
      h(
        "div",
        { class: "rp-split" },
        h("div", {}, h("h3", { text: "Readings, best first" }), this.list),
        h(
          "div",
          {},
          h("h3", { text: "The chosen sign, weighed with its neighbours" }),
          this.one,
          h("h3", { text: "Your own reading" }),
          this.own.box,
          this.counted,
          this.ownKeep,
          h("h3", { text: "A known verse?" }),
          this.known,
          h("h3", { text: "Attempts kept" }),
          this.kept,
        ),
      ),
    );
  }
  toggle() {
    this.open = !this.open;
    this.box.hidden = !this.open;
    this.p.repaint();
    this.paint();
    if (this.open) /** @type {any} */ (this.box.querySelector("select,input,button"))?.focus({ preventScroll: true });
  }
  paint() {
    if (!this.open) return;
    this.paintBar();
    this.paintShape();
    this.paintOne();
    this.paintList();
    this.paintOwn();
    this.paintKnown();
    this.paintKept();
  }
  paintBar() {
    const { st, ask } = this.p;
    refill(
      this.bar,
      choice("Verse form", st.forms, st.form ?? "", (v) => ask("form", { form: v }), { "data-key": "form" }),
      h(
        "span",
        { class: "rp-state", role: "status" },
        st.busy ? [h("progress", { "aria-label": "Searching" }), " Searching …"] : st.words || "",
      ),
      h("span", { class: "ra-gap" }),
      button("Less ▾", () => this.toggle(), { class: "ra-button ra-small", "data-key": "less" }),
    );
  }
  paintShape() {
    const { st, ask } = this.p,
      box = h("input", {
        type: "checkbox",
        checked: st.shape.on,
        "data-key": "shape",
        onchange: () => ask("shape", { on: box.checked }),
      });
    refill(
      this.shape,
      h(
        "div",
        { class: "ra-group" },
        h("label", { class: "rp-tick" }, box, h("span", { text: "Read unread signs by their shape" })),
        st.shape.on ? oneOf("Among", st.shape.kinds, st.shape.among, (v) => ask("shape", { among: v }), "among") : null,
      ),
      st.shape.words
        ? h("p", { class: st.busy ? "ra-hint" : "ra-caution", role: "status", text: st.shape.words })
        : null,
    );
  }
  paintOne() {
    const { st, ask } = this.p,
      c = st.one;
    if (!c) {
      refill(
        this.one,
        h("p", {
          class: "ra-hint",
          text: "Choose a sign to see what its neighbours say, and to hold a part of the reading fast.",
        }),
      );
      return;
    }
    const hold = (
      /** @type {string} */ label,
      /** @type {[string,string][]} */ options,
      /** @type {string} */ now,
      /** @type {(v:string)=>void} */ pick,
      /** @type {string} */ key,
    ) =>
      h(
        "div",
        { class: "rp-hold" },
        h("span", { class: "ra-label", text: label }),
        oneOf(label, options, now, pick, key),
      );
    const fields = (/** @type {any} */ f) => ask("hold", { character: c.id, fields: f });
    refill(
      this.one,
      h("strong", { text: `Sign ${c.n}` }),
      c.shares.length
        ? h(
            "table",
            { class: "rp-shares" },
            h(
              "thead",
              {},
              h(
                "tr",
                {},
                ["Letter", "Read", "You said", "With its neighbours"].map((t) => h("th", { scope: "col", text: t })),
              ),
            ),
            h(
              "tbody",
              {},
              c.shares.map((/** @type {any} */ s) =>
                h(
                  "tr",
                  { class: s.restored ? "rp-restored" : "" },
                  h("td", {}, ja(s.character || "–")),
                  h("td", {}, ja(s.kana, "")),
                  h("td", { text: s.mine ?? "–" }),
                  h("td", { class: "rp-num", text: s.words }),
                ),
              ),
            ),
          )
        : null,
      c.shape
        ? h("small", {
            text: "From shape alone: nobody has judged this sign. Look at it, and enter in the sign's own panel what you find right.",
          })
        : null,
      c.shares.some((/** @type {any} */ s) => s.restored)
        ? h("small", {
            text: "Dotted: not seen on the piece, supplied from the language. Never take it for what stands there.",
          })
        : null,
      hold(
        "Certainly this",
        [["", "not held"], ...c.options.map((/** @type {string} */ o) => [o, o])],
        c.fixed,
        (v) => fields({ fixed: v }),
        "fix",
      ),
      hold(
        "After this sign",
        [
          ["no", "not said"],
          ["yes", "a word ends here"],
        ],
        c.ends ? "yes" : "no",
        (v) => fields({ word_ends: v === "yes" }),
        "ends",
      ),
      hold(
        "Belongs to a name",
        [
          ["", "no"],
          ["place", "of a place"],
          ["person", "of a person"],
        ],
        c.name,
        (v) => fields({ name_of: v }),
        "name",
      ),
    );
  }
  paintList() {
    const { st } = this.p;
    if (!st.readings.length) {
      refill(
        this.list,
        h("p", {
          class: "ra-hint",
          text: st.signs
            ? st.words || "No reading yet."
            : "No signs yet. Mark them on the photograph first, then say what each may be.",
        }),
      );
      return;
    }
    if (this.unfolded >= st.readings.length) this.unfolded = 0;
    refill(
      this.list,
      st.readings.map((/** @type {any} */ r, /** @type {number} */ i) => this.reading(r, i)),
    );
  }
  reading(/** @type {any} */ r, /** @type {number} */ i) {
    const { p } = this,
      open = i === this.unfolded;
    const top = h(
      "button",
      {
        type: "button",
        class: "rp-head",
        "data-key": `r-${i}`,
        "aria-expanded": String(open),
        onclick: () => {
          this.unfolded = i;
          this.paintList();
        },
      },
      h("span", { class: "rp-rank", text: `${i + 1}` }),
      h(
        "span",
        { lang: "ja", class: "ra-ja rp-short" },
        r.lines.map((/** @type {any} */ l, /** @type {number} */ n) => [n ? "　" : null, parts(l.parts)]),
      ),
      h("span", { class: "rp-share", text: r.share }),
    );
    if (!open) return h("div", { role: "listitem", class: `rp-reading ${r.machine ? "rp-machine" : ""}` }, top);
    return h(
      "div",
      { role: "listitem", class: `rp-reading rp-open ${r.machine ? "rp-machine" : ""}` },
      top,
      lines(r.lines),
      h(
        "dl",
        { class: "rp-layers" },
        r.layers.map((/** @type {any} */ [k, v, lang]) => [
          h("dt", { text: k }),
          h("dd", lang ? { lang } : {}, k === "As it stands" ? parts(r.written) : v),
        ]),
      ),
      r.general.length
        ? h(
            "p",
            { class: "rp-whys" },
            r.general.map((/** @type {string} */ g) => h("span", { class: "rp-rule", lang: "ja", text: g })),
          )
        : null,
      r.restored ? h("p", { class: "ra-caution", text: r.restored }) : null,
      r.shape ? h("p", { class: "ra-caution", text: `Dot below: ${r.shape}` }) : null,
      i === 0 ? this.spreadWords() : null,
      button(r.machine ? "Keep as a proposal …" : "Keep as an attempt …", () => p.keep(i), {
        class: "ra-button ra-small",
        "data-key": `keeplist-${i}`,
      }),
    );
  }
  spreadWords() {
    const told = this.p.st.spread;
    if (!told?.length) return null;
    return h(
      "details",
      {
        class: "rp-spread",
        open: this.spread,
        ontoggle: (/** @type {Event} */ e) => {
          this.spread = /** @type {HTMLDetailsElement} */ (e.target).open;
        },
      },
      h("summary", { "data-key": "spread" }, h("span", { text: told[0] })),
      told.slice(1).map((/** @type {string} */ w) => h("p", { text: w })),
    );
  }
  paintOwn() {
    const { st, keep } = this.p;
    refill(
      this.counted,
      st.own?.busy
        ? h("span", { class: "ra-group" }, h("progress", { "aria-label": st.own.words }), st.own.words)
        : st.own?.lines?.length
          ? [lines(st.own.lines), h("small", { text: st.own.words })]
          : [],
    );
    refill(
      this.ownKeep,
      button("Keep your own …", () => keep(-2), { "data-key": "keep-own", class: "ra-button ra-small" }),
    );
  }
  paintKnown() {
    const { st, ask } = this.p;
    refill(
      this.known,
      h(
        "div",
        { class: "ra-group" },
        button("Look for it", () => ask("known", { collection: this.verses.value }), {
          "data-key": "known",
          class: "ra-button ra-small",
        }),
        this.verses,
        h("span", {
          class: "ra-hint",
          text:
            st.known.words ||
            "Compares your candidates, gaps and all, with the verses kept here. Look only after you have read for yourself: a known verse biases the eye.",
        }),
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
                ["Verdict", "Verse", "Whose, where", "What differs", "By chance"].map((t) =>
                  h("th", { scope: "col", text: t }),
                ),
              ),
            ),
            h(
              "tbody",
              {},
              st.known.rows.map((/** @type {string[]} */ r) =>
                h(
                  "tr",
                  {},
                  r.map((x) => h("td", { lang: "ja", text: x })),
                ),
              ),
            ),
          )
        : null,
    );
  }
  paintKept() {
    const { st } = this.p;
    refill(
      this.kept,
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
                ["Reading", "Sure", "Status", "Reader", "When"].map((t) => h("th", { scope: "col", text: t })),
              ),
            ),
            h(
              "tbody",
              {},
              st.attempts.map((/** @type {any} */ a) =>
                h(
                  "tr",
                  {},
                  h("td", { lang: "ja", text: a.text }),
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
            text: "None yet. Each reading you keep stays in the register with its reasons; a later one never overwrites it.",
          }),
    );
  }
}
