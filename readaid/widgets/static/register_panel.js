// The register as pages of a real table: filter, sort, look at one entry's history, change an attempt's status.
import { button, choice, field, h, oneOf, refill, table, wordFor } from "./kit.js";
import { Fold } from "./panel_fold.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";

/** The register as pages of a table. */
export class Register {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").RegisterPanelAsks, import("./register_states.js").RegisterPanelState>} */
    const made = panel(given, "gp", t`Register`);
    this.fold = new Fold(made, "gp", "report");
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.letters = made.letters;
    this.st = /** @type {import("./register_states.js").RegisterPanelState} */ ({});
    this.timer = 0;
    this.bar = h("div", { class: "ra-bar gp-bar" });
    this.find = h("input", {
      type: "search",
      class: "ra-input gp-find",
      lang: "ja",
      "aria-label": t`Find in all columns`,
      placeholder: t`Find …`,
    });
    this.composing = false;
    this.find.addEventListener("compositionstart", () => {
      this.composing = true;
    });
    this.find.addEventListener("compositionend", () => {
      this.composing = false;
      this.push();
    });
    this.find.addEventListener("input", () => this.composing || this.push());
    this.filters = h("div", { class: "ra-group" });
    this.bar.append(
      h("label", { class: "ra-field" }, h("span", { class: "ra-label", text: t`Find in all columns` }), this.find),
      this.filters,
    );
    this.table = h("div", { class: "gp-table", tabindex: "0", role: "region", "aria-label": t`Entries` });
    this.pager = h("div", { class: "ra-bar gp-pager" });
    this.counted = h("span", { role: "status" });
    this.detail = h("div", { class: "gp-detail", role: "region", "aria-label": t`The entry` });
    this.body.append(this.bar, this.table, this.pager, this.detail);
    this.show((now) => {
      if (!now?.columns) return;
      this.st = now;
      this.fold.holds(now.kinds.find((k) => k[0] === now.kind)?.[1] ?? now.kind, now.total);
      if (document.activeElement !== this.find && this.find.value !== this.st.query) this.find.value = this.st.query;
      this.paintFilters();
      this.paintTable();
      this.paintPager();
      this.paintDetail();
      this.root.dataset.total = String(this.st.total);
      this.letters();
    });
  }
  push() {
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.ask("query", { text: this.find.value }), 150);
  }
  paintTable() {
    const head = h(
      "tr",
      {},
      this.st.columns.map((c) =>
        h(
          "th",
          {
            scope: "col",
            "aria-sort": c.name === this.st.sort[0] ? (this.st.sort[1] > 0 ? "ascending" : "descending") : "none",
          },
          h(
            "button",
            {
              type: "button",
              class: "gp-sort",
              "data-key": `sort-${c.name}`,
              onclick: () => this.ask("sort", { column: c.name }),
            },
            c.title,
            h("span", {
              "aria-hidden": "true",
              text: c.name === this.st.sort[0] ? (this.st.sort[1] > 0 ? " ▴" : " ▾") : "",
            }),
          ),
        ),
      ),
    );
    const rows = this.st.rows.map((r) =>
      h(
        "tr",
        { class: r.id === this.st.selected ? "gp-on" : "" },
        r.cells.map((v, i) => this.cell(r, v, i)),
      ),
    );
    refill(
      this.table,
      h(
        "table",
        {},
        h("thead", {}, head),
        h(
          "tbody",
          {},
          rows.length
            ? rows
            : h(
                "tr",
                {},
                h("td", { colspan: String(this.st.columns.length), class: "ra-hint", text: this.st.nothing }),
              ),
        ),
      ),
    );
  }
  paintPager() {
    const last = Math.min(this.st.start + this.st.rows.length, this.st.total),
      words = this.st.total ? t`${this.st.start + 1}–${last} of ${this.st.total}` : "0";
    if (this.counted.textContent !== words) this.counted.textContent = words; // told when it changes
    refill(
      this.pager,
      button(t`◂ Before`, () => this.ask("page", { by: -1 }), { disabled: this.st.start === 0, "data-key": "before" }),
      this.counted,
      button(t`After ▸`, () => this.ask("page", { by: 1 }), { disabled: last >= this.st.total, "data-key": "after" }),
      h("span", { class: "ra-gap" }),
      h("small", {
        text: this.st.moment
          ? t`As it stood at the end of ${this.st.moment} (UTC); for looking only.`
          : t`As it stands now.`,
      }),
    );
  }
  paintFilters() {
    const day = h("input", {
      type: "date",
      class: "ra-input",
      "aria-label": t`As it stood on`,
      "data-key": "day",
      onchange: () => this.ask("as_of", { day: day.value }),
    });
    day.value = this.st.moment || "";
    refill(
      this.filters,
      choice(t`Show`, this.st.kinds, this.st.kind, (v) => this.ask("kind", { kind: v }), { "data-key": "kind" }),
      this.st.kind === "attempts"
        ? choice(
            t`Status`,
            [["", t`any`], ...this.st.statuses],
            this.st.status,
            (v) => this.ask("status_filter", { status: v }),
            { "data-key": "status" },
          )
        : null,
      h("label", { class: "ra-field" }, h("span", { class: "ra-label", text: t`As it stood on` }), day),
      this.st.moment ? button(t`Now`, () => this.ask("as_of", { day: "" }), { "data-key": "now" }) : null,
    );
  }
  paintDetail() {
    const d = this.st.detail;
    if (!d) return refill(this.detail);
    if (
      this.detail.contains(document.activeElement) &&
      /** @type {HTMLElement} */ (document.activeElement).matches("textarea") &&
      this.detail.dataset.id === d.id
    )
      return;
    this.detail.dataset.id = d.id;
    refill(
      this.detail,
      h(
        "div",
        { class: "gp-told" },
        h("h3", { text: d.title }),
        h(
          "dl",
          { class: "gp-facts" },
          d.facts.map(([k, v]) => [h("dt", { text: k }), h("dd", { text: v })]),
        ),
        h("h3", { text: t`History` }),
        table(
          [t`When`, t`Reader`, t`Why`, t`What changed`],
          d.history.map((r) => [r.when, r.reader, r.reason, r.what]),
        ),
      ),
      d.attempt && !this.st.moment && !this.st.locked
        ? h("div", { class: "gp-change" }, this.change(d.id, d.attempt))
        : null,
    );
  }
  /** One cell; the first of a row opens it. @param {import("./register_states.js").TableRow} r @param {string} v @param {number} i */
  cell(r, v, i) {
    return h(
      "td",
      i ? { text: v } : {},
      i === 0
        ? h("button", {
            type: "button",
            class: "gp-open",
            "data-key": `row-${r.id}`,
            "aria-pressed": String(r.id === this.st.selected),
            onclick: () => this.ask("open", { id: r.id === this.st.selected ? "" : r.id }),
            text: v,
          })
        : null,
    );
  }
  /** Change an attempt: its status, how sure, and why. @param {string} id @param {import("./register_states.js").Standing} now */
  change(id, now) {
    let { status, confidence: sure } = now;
    const why = field(t`Why (kept with the change)`, () => {}, { rows: 2, lang: "ja" });
    const box = h("div", {});
    const paint = () =>
      refill(
        box,
        h(
          "div",
          { class: "gp-line" },
          h("span", { class: "ra-label", text: t`Status` }),
          oneOf(
            t`Status`,
            this.st.statuses,
            status,
            (v) => {
              status = v;
              paint();
            },
            "dst",
          ),
        ),
        h(
          "div",
          { class: "gp-line" },
          h("span", { class: "ra-label", text: t`How sure` }),
          oneOf(
            t`How sure`,
            this.st.values.map(([w]) => [w, w]),
            wordFor(sure, this.st.words),
            (w) => {
              sure = this.st.values.find((v) => v[0] === w)?.[1] ?? sure;
              paint();
            },
            "dsu",
          ),
        ),
      );
    paint();
    return [
      h("h3", { text: t`Change it` }),
      box,
      why.box,
      button(t`Save the change`, () => this.ask("change", { id, status, confidence: sure, reason: why.input.value }), {
        class: "ra-button ra-main",
        "data-key": "save-change",
      }),
      h("small", { text: t` The former state stays in the history.` }),
    ];
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Register(given);
}

export default { render: inLanguage(render) };
