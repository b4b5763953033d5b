// More of the reading, above its line: all readings, the chosen sign in its place, own words, known verses, attempts.
import { ChineseLine } from "./chinese_line.js";
import { button, choice, field, h, oneOf, refill } from "./kit.js";
import { KeptReadings } from "./reading_kept.js";
import { SignPlace } from "./reading_sign.js";
import { lines, parts } from "./reading_words.js";
import { besideRows } from "./readings_beside.js";
import { t } from "./texts.js";

/** More of the reading, above its line. */
export class Drawer {
  /** @param {import("./reading_panel.js").Reading} p the panel */
  constructor(p) {
    this.p = p;
    this.keeps = new KeptReadings(this);
    this.place = new SignPlace(this);
    this.open = false;
    this.unfolded = 0;
    this.spread = false;
    this.own = field(
      t`Your own reading, a line for each line of the verse (? for an unread sign)`,
      (v) => p.ask("own", { text: v }),
      { rows: 3, lang: "ja" },
    );
    this.counted = h("div", { class: "rp-counted" });
    this.ownKeep = h("div", {});
    this.bar = h("div", { class: "ra-bar" });
    this.shape = h("div", { class: "rp-byshape" });
    this.one = h("div", { class: "rp-one", role: "group", "aria-label": t`The chosen sign in its place` });
    this.list = h("div", { class: "rp-list", role: "list", "aria-label": t`Readings, best first` });
    this.besides = h("div", { class: "rp-besides", role: "group", "aria-label": t`Two readings beside each other` });
    this.kept = h("div", {});
    this.chinese = new ChineseLine(this.p);
    this.known = h("div", {});
    this.box = h(
      "div",
      { class: "rp-drawer", hidden: true },
      this.bar,
      this.shape,
      h(
        "div",
        { class: "rp-split" },
        h("div", {}, h("h3", { text: t`Readings, best first` }), this.list, this.besides),
        h(
          "div",
          {},
          h("h3", { text: t`The chosen sign, weighed with its neighbours` }),
          this.one,
          h("h3", { text: t`Your own reading` }),
          this.own.box,
          this.counted,
          this.ownKeep,
          this.chinese.box,
          h("h3", { text: t`A known verse?` }),
          this.known,
          h("h3", { text: t`Attempts kept` }),
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
    if (this.open)
      /** @type {HTMLElement|null} */ (this.box.querySelector("select,input,button"))?.focus({ preventScroll: true });
  }
  paint() {
    if (!this.open) return;
    this.paintBar();
    this.paintShape();
    this.place.paintOne();
    this.paintList();
    refill(this.besides, besideRows(this.p));
    this.keeps.paintOwn();
    this.chinese.paint();
    this.keeps.paintKnown();
    this.keeps.paintKept();
  }
  paintBar() {
    const { st, ask } = this.p;
    refill(
      this.bar,
      choice(t`Verse form`, st.forms, st.form ?? "", (v) => ask("form", { form: v }), { "data-key": "form" }),
      h(
        "span",
        { class: "rp-state", role: "status" },
        st.busy ? [h("progress", { "aria-label": t`Searching` }), t` Searching …`] : st.words || "",
        st.busy ? this.p.stop("stop") : null,
      ),
      h("span", { class: "ra-gap" }),
      button(t`Less ▾`, () => this.toggle(), { class: "ra-button ra-small", "data-key": "less" }),
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
        h("label", { class: "rp-tick" }, box, h("span", { text: t`Read unread signs by their shape` })),
        st.shape.on
          ? oneOf(t`Among`, st.shape.kinds, st.shape.among, (v) => ask("shape", { among: v }), "among")
          : null,
      ),
      st.shape.words
        ? h("p", { class: st.busy ? "ra-hint" : "ra-caution", role: "status", text: st.shape.words })
        : null,
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
            ? st.words || t`No reading yet.`
            : t`No signs yet. Mark them on the photograph first, then say what each may be.`,
        }),
      );
      return;
    }
    if (this.unfolded >= st.readings.length) this.unfolded = 0;
    refill(
      this.list,
      st.readings.map((r, i) => this.reading(r, i)),
    );
  }
  /** A reading of the list. @param {import("./reading_states.js").ReadingRow} r @param {number} i */
  reading(r, i) {
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
        r.lines.map((l, n) => [n ? "　" : null, parts(l.parts)]),
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
        r.layers.map(([k, v, lang], n) => [
          h("dt", { text: k }),
          h("dd", lang ? { lang } : {}, n === 0 ? parts(r.written) : v),
        ]),
      ),
      r.general.length
        ? h(
            "p",
            { class: "rp-whys" },
            r.general.map((g) => h("span", { class: "rp-rule", text: g })),
          )
        : null,
      r.restored ? h("p", { class: "ra-caution", text: r.restored }) : null,
      r.shape ? h("p", { class: "ra-caution", text: t`Dot below: ${r.shape}` }) : null,
      i === 0 ? this.spreadWords() : null,
      button(r.machine ? t`Keep as a proposal …` : t`Keep as an attempt …`, () => p.keep(i), {
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
      told.slice(1).map((w) => h("p", { text: w })),
    );
  }
}
