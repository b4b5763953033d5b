// The register as pages of a real table: filter, sort, look at one entry's history, change an attempt's status.
import { button, choice, field, h, oneOf, panel, refill, wordFor } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, ask, show, letters } = panel(given, "gp", "Register");
  let st = /** @type {any} */ ({});
  let timer = 0;
  const bar = h("div", { class: "ra-bar gp-bar" });
  const find = h("input", {
    type: "search",
    class: "ra-input gp-find",
    lang: "ja",
    "aria-label": "Find in all columns",
    placeholder: "Find …",
  });
  let composing = false;
  const push = () => {
    clearTimeout(timer);
    timer = setTimeout(() => ask("query", { text: find.value }), 150);
  };
  find.addEventListener("compositionstart", () => {
    composing = true;
  });
  find.addEventListener("compositionend", () => {
    composing = false;
    push();
  });
  find.addEventListener("input", () => composing || push());
  const filters = h("div", { class: "ra-group" });
  bar.append(
    h("label", { class: "ra-field" }, h("span", { class: "ra-label", text: "Find in all columns" }), find),
    filters,
  );
  const table = h("div", { class: "gp-table", tabindex: "0", role: "region", "aria-label": "Entries" });
  const pager = h("div", { class: "ra-bar gp-pager" });
  const detail = h("div", { class: "gp-detail" });
  body.append(bar, table, pager, detail);

  function paintTable() {
    const head = h(
      "tr",
      {},
      st.columns.map((/** @type {any} */ c) =>
        h(
          "th",
          { scope: "col", "aria-sort": c.name === st.sort[0] ? (st.sort[1] > 0 ? "ascending" : "descending") : "none" },
          h(
            "button",
            {
              type: "button",
              class: "gp-sort",
              "data-key": `sort-${c.name}`,
              onclick: () => ask("sort", { column: c.name }),
            },
            c.title,
            h("span", { "aria-hidden": "true", text: c.name === st.sort[0] ? (st.sort[1] > 0 ? " ▴" : " ▾") : "" }),
          ),
        ),
      ),
    );
    const rows = st.rows.map((/** @type {any} */ r) =>
      h(
        "tr",
        { class: r.id === st.selected ? "gp-on" : "" },
        r.cells.map((/** @type {any} */ v, /** @type {number} */ i) =>
          h(
            "td",
            { lang: st.columns[i].ja ? "ja" : null },
            i === 0
              ? h("button", {
                  type: "button",
                  class: "gp-open",
                  "data-key": `row-${r.id}`,
                  "aria-pressed": String(r.id === st.selected),
                  onclick: () => ask("open", { id: r.id === st.selected ? "" : r.id }),
                  text: v,
                })
              : v,
          ),
        ),
      ),
    );
    refill(
      table,
      h(
        "table",
        {},
        h("thead", {}, head),
        h(
          "tbody",
          {},
          rows.length
            ? rows
            : h("tr", {}, h("td", { colspan: String(st.columns.length), class: "ra-hint", text: st.nothing })),
        ),
      ),
    );
  }
  function paintPager() {
    const last = Math.min(st.start + st.rows.length, st.total);
    refill(
      pager,
      button("◂ Before", () => ask("page", { by: -1 }), { disabled: st.start === 0, "data-key": "before" }),
      h("span", { role: "status", text: st.total ? `${st.start + 1}–${last} of ${st.total}` : "0" }),
      button("After ▸", () => ask("page", { by: 1 }), { disabled: last >= st.total, "data-key": "after" }),
      h("span", { class: "ra-gap" }),
      h("small", {
        text: st.moment ? `As it stood at the end of ${st.moment} (UTC); for looking only.` : "As it stands now.",
      }),
    );
  }
  function paintFilters() {
    const day = h("input", {
      type: "date",
      class: "ra-input",
      "aria-label": "As it stood on",
      "data-key": "day",
      onchange: () => ask("as_of", { day: day.value }),
    });
    day.value = st.moment || "";
    refill(
      filters,
      choice("Show", st.kinds, st.kind, (v) => ask("kind", { kind: v }), { "data-key": "kind" }),
      st.kind === "attempts"
        ? choice(
            "Status",
            [["", "any"], ...st.statuses.map((/** @type {string} */ s) => [s, s])],
            st.status,
            (v) => ask("status_filter", { status: v }),
            { "data-key": "status" },
          )
        : null,
      h("label", { class: "ra-field" }, h("span", { class: "ra-label", text: "As it stood on" }), day),
      st.moment ? button("Now", () => ask("as_of", { day: "" }), { "data-key": "now" }) : null,
    );
  }
  function paintDetail() {
    const d = st.detail;
    if (!d) return refill(detail);
    if (
      detail.contains(document.activeElement) &&
      /** @type {HTMLElement} */ (document.activeElement).matches("textarea") &&
      detail.dataset.id === d.id
    )
      return;
    detail.dataset.id = d.id;
    const kids = [
      h("h3", { lang: "ja", text: d.title }),
      h(
        "dl",
        { class: "gp-facts" },
        d.facts.map((/** @type {any} */ [k, v]) => [h("dt", { text: k }), h("dd", { lang: "ja", text: v })]),
      ),
    ];
    if (d.attempt && !st.moment && !st.locked) {
      let status = d.attempt.status,
        sure = d.attempt.confidence;
      const why = field("Why (kept with the change)", () => {}, { rows: 2, lang: "ja" });
      const box = h("div", {});
      const paint = () =>
        refill(
          box,
          h(
            "div",
            { class: "gp-line" },
            h("span", { class: "ra-label", text: "Status" }),
            oneOf(
              "Status",
              st.statuses.map((/** @type {string} */ s) => [s, s]),
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
            h("span", { class: "ra-label", text: "How sure" }),
            oneOf(
              "How sure",
              st.values.map((/** @type {any} */ [w]) => [w, w]),
              wordFor(sure, st.words),
              (w) => {
                sure = st.values.find((/** @type {any} */ v) => v[0] === w)[1];
                paint();
              },
              "dsu",
            ),
          ),
        );
      paint();
      kids.push(
        h("h3", { text: "Change it" }),
        box,
        why.box,
        button(
          "Save the change",
          () => ask("change", { id: d.id, status, confidence: sure, reason: why.input.value }),
          { class: "ra-button ra-main", "data-key": "save-change" },
        ),
        h("small", { text: " The former state stays in the history." }),
      );
    }
    kids.push(
      h("h3", { text: "History" }),
      h(
        "table",
        {},
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            ["When", "Reader", "Why", "What changed"].map((x) => h("th", { scope: "col", text: x })),
          ),
        ),
        h(
          "tbody",
          {},
          d.history.map((/** @type {any} */ r) =>
            h(
              "tr",
              {},
              h("td", { text: r.when }),
              h("td", { text: r.reader }),
              h("td", { text: r.reason }),
              h("td", { lang: "ja", text: r.what }),
            ),
          ),
        ),
      ),
    );
    refill(detail, kids);
  }
  show((now) => {
    if (!now?.columns) return;
    st = now;
    if (document.activeElement !== find && find.value !== st.query) find.value = st.query;
    paintFilters();
    paintTable();
    paintPager();
    paintDetail();
    root.dataset.total = String(st.total);
    letters();
  });
}

export default { render };
