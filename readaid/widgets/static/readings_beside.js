// Two readings beside each other: what each rests on in one unit, where they part, what a further photograph could settle.
import { choice, h, ja } from "./kit.js";
import { t } from "./texts.js";

/** What the first reading and another one rest on. @param {import("./reading_panel.js").Reading} p */
export function besideRows(p) {
  const { st } = p,
    b = st.beside;
  if (!b) return [];
  const others = st.readings
    .slice(1)
    .map((r, i) => /** @type {[string, string]} */ ([String(i + 1), `${i + 2}. ${r.differs || r.short}`]));
  const cell = (/** @type {string[]} */ row, /** @type {string} */ side) =>
    h("td", { class: row[2] === side ? "rp-favours" : "", text: row[2] === side ? row[1] : row[2] ? "" : row[1] });
  return [
    choice(t`Lay beside the first`, others, String(b.other), (v) => p.ask("beside", { other: Number(v) }), {
      "data-key": "beside",
    }),
    h(
      "table",
      { class: "rp-beside" },
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          h("th", { scope: "col", text: t`Rests on` }),
          h("th", { scope: "col" }, ja(b.first)),
          h("th", { scope: "col" }, ja(b.second)),
        ),
      ),
      h(
        "tbody",
        {},
        b.rows.map((/** @type {string[]} */ row) =>
          h("tr", {}, h("th", { scope: "row", text: row[0] }), cell(row, "a"), cell(row, "b")),
        ),
        b.signs.map((/** @type {string[]} */ [n, one, two]) =>
          h("tr", {}, h("th", { scope: "row", text: t`sign ${n}` }), h("td", {}, ja(one)), h("td", {}, ja(two))),
        ),
      ),
    ),
    h("p", {
      class: "ra-hint",
      text: t`How many times likelier each cause makes a reading; all causes are in one unit.`,
    }),
    h("p", { class: "rp-next", text: b.next }),
  ];
}
