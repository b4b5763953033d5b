// A school: its tree of teachers, the likeness of all forms with all, the nearest forms, and what may be said of it.
import { button, h, refill, s, table } from "./kit.js";
import { Fold } from "./panel_fold.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";
import { workBar } from "./work_bar.js";

/** The colour of a likeness between `low` and 1, and of the number on it. @param {number} low */
const shadeOf = (low) => (/** @type {number} */ v) => {
  const k = Math.max(0, Math.min(1, (v - low) / Math.max(1e-6, 1 - low)));
  return `background:rgb(${Math.round(251 - 220 * k)},${Math.round(250 - 160 * k)},${Math.round(246 - 108 * k)});color:${k > 0.55 ? "#fff" : "#22262b"}`;
};

/** The panel of a school. */
export class School {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").SchoolPanelAsks, import("./school_states.js").SchoolPanelState>} */
    const made = panel(given, "lp", t`The school`);
    this.fold = new Fold(made, "lp", "school");
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.on = made.on;
    this.st = /** @type {import("./school_states.js").SchoolPanelState} */ ({});
    this.file = h("input", {
      type: "file",
      accept: ".csv,text/csv",
      class: "ra-sr",
      tabindex: "-1",
      "aria-label": t`Table of makers (CSV)`,
      onchange: async () => {
        const file = this.file.files?.[0];
        if (file) await this.ask("makers", { text: await file.text() });
        this.file.value = "";
      },
    });
    this.tree = h("div", { class: "lp-tree" });
    this.run = h("div", { class: "ra-bar" });
    this.matrix = h("div", {
      class: "lp-matrix",
      tabindex: "0",
      role: "region",
      "aria-label": t`Likeness of all forms`,
    });
    this.near = h("div", {});
    this.test = h("div", {});
    this.charts = h("div", { class: "lp-charts" });
    this.lay();
    this.show((now) => {
      if (!now?.ready) return;
      this.st = now;
      this.fold.holds(now.words);
      this.paintTree();
      this.paintMatrix();
      this.root.dataset.forms = String(this.st.forms);
      this.root.dataset.done = String(Boolean(this.st.matrix));
    });
  }
  paintTree() {
    if (!this.st.makers.length) return refill(this.tree, h("p", { class: "ra-hint", text: this.st.tree_words }));
    const wide = 250,
      high = 62,
      columns = Math.max(...this.st.makers.map((m) => m.column)),
      rows = Math.max(...this.st.makers.map((m) => m.row));
    const at = Object.fromEntries(this.st.makers.map((m) => [m.id, m]));
    const kids = [];
    for (const m of this.st.makers)
      if (at[m.teacher]) {
        const x1 = at[m.teacher].column * wide + 200,
          y1 = at[m.teacher].row * high + 30,
          x2 = m.column * wide + 10,
          y2 = m.row * high + 30;
        kids.push(
          s("path", { d: `M${x1} ${y1}C${(x1 + x2) / 2} ${y1} ${(x1 + x2) / 2} ${y2} ${x2} ${y2}`, class: "lp-line" }),
        );
      }
    for (const m of this.st.makers)
      kids.push(
        s(
          "g",
          {},
          s("rect", { x: m.column * wide + 10, y: m.row * high + 6, width: 190, height: 48, rx: 7, class: "lp-maker" }),
          s("text", { x: m.column * wide + 20, y: m.row * high + 27, class: "lp-name", lang: "ja", text: m.name }),
          s("text", { x: m.column * wide + 20, y: m.row * high + 45, class: "lp-dates", text: m.words }),
        ),
      );
    const svg = s(
      "svg",
      { role: "img", "aria-label": this.st.tree_alt, width: (columns + 1) * wide, height: (rows + 1) * high + 10 },
      kids,
    );
    refill(this.tree, svg, this.st.tree_words ? h("p", { class: "ra-hint", text: this.st.tree_words }) : null);
  }
  paintMatrix() {
    const m = this.st.matrix;
    refill(
      this.run,
      button(m ? t`Compare all again` : t`Compare all forms`, () => this.ask("compare_all"), {
        class: "ra-button ra-main",
        disabled: Boolean(this.st.busy) || this.st.forms < 2,
        "data-key": "all",
      }),
      ...workBar(this.st.busy, () => this.ask("stop")),
      h("span", { class: "ra-hint", text: this.st.words }),
    );
    if (!m) {
      refill(this.matrix);
      refill(this.near);
      refill(this.test);
      refill(this.charts);
      return;
    }
    this.paintHeat(m);
    this.paintCharts();
    this.paintNear(m);
    this.paintTests();
  }
  /** @param {import("./school_states.js").LikenessMatrix} m */
  paintHeat(m) {
    const shade = shadeOf(m.low);
    refill(
      this.matrix,
      h(
        "table",
        { class: "lp-heat" },
        h("caption", { class: "ra-sr", text: t`Likeness of form, 0 to 1` }),
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            h("td", {}),
            m.names.map((n) => h("th", { scope: "col", lang: "ja", class: "lp-up" }, h("span", { text: n }))),
          ),
        ),
        h(
          "tbody",
          {},
          m.rows.map((r, i) =>
            h(
              "tr",
              {},
              h("th", { scope: "row", text: m.names[i] }),
              r.map((v, j) => h("td", { style: i === j ? "" : shade(v), text: i === j ? "" : v.toFixed(2) })),
            ),
          ),
        ),
      ),
    );
  }
  paintCharts() {
    refill(
      this.charts,
      this.st.charts.map((c) => {
        const box = h(
          "figure",
          {},
          h("img", { alt: c.title, src: `data:image/svg+xml;base64,${c.svg}` }),
          h("figcaption", { text: c.title }),
        );
        return box;
      }),
    );
  }
  /** @param {import("./school_states.js").LikenessMatrix} m */
  paintNear(m) {
    refill(
      this.near,
      m.nearest.length
        ? [
            h("h3", { text: t`Nearest to ${m.of}` }),
            table([t`Rank`, t`Maker`, t`Likeness`, t`Distance`, t`Forms on hand`, t`Nearest form`], m.nearest),
            h("p", { text: m.sentence }),
          ]
        : null,
    );
  }
  paintTests() {
    refill(
      this.test,
      this.st.tests.length
        ? [h("h3", { text: t`Does likeness follow teaching?` }), this.st.tests.map((x) => h("p", { text: x }))]
        : null,
    );
  }
  lay() {
    this.body.append(
      h(
        "div",
        { class: "ra-group lp-do" },
        this.run,
        h("span", { class: "ra-gap" }),
        button(t`Take makers from a table (CSV) …`, () => this.file.click(), { class: "ra-button ra-small" }),
        this.file,
      ),
      h(
        "div",
        { class: "lp-all", tabindex: "0", role: "region", "aria-label": t`The school` },
        h("h3", { text: t`Teachers and pupils` }),
        this.tree,
        h("h3", { text: t`Likeness of all forms with all` }),
        this.matrix,
        this.charts,
        this.near,
        this.test,
      ),
      h(
        "p",
        { class: "ra-caution" },
        t`Kin forms are a hypothesis to test, since fashion and patrons shape them too. With few specimens every figure has a wide margin. Rank and distance say which forms are alike, never who made them.`,
      ),
    );
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new School(given);
}

export default { render: inLanguage(render) };
