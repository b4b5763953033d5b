// A reading in elements: its parts, what nobody judged marked apart, and its lines with morae and rules.
import { h } from "./kit.js";
import { t } from "./texts.js";

/** How far a line is from its count, in words. @param {number|null|undefined} n */
export const surplus = (n) =>
  n === null || n === undefined ? "" : n === 0 ? t`fits` : n > 0 ? t`${n} too many` : t`${-n} too few`;
/** Parts of a line, what nobody judged marked apart. @param {readonly {text: string, restored?: boolean, shape?: boolean}[]} of */
export const parts = (of) =>
  of.map((p) =>
    h("span", {
      class: p.restored ? "rp-restored" : p.shape ? "rp-shape" : null,
      title: p.restored ? t`supplied, not seen` : p.shape ? t`from shape alone, judged by nobody` : null,
      text: p.text,
    }),
  );
/** Lines of a verse, each with its morae and the rules it needs. @param {import("./reading_states.js").LineRow[]} rows */
export const lines = (rows) =>
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
            l.want === null ? ` ${l.unit}` : t` of ${l.want} ${l.unit}`,
          ),
          h("td", { class: l.surplus ? "rp-off" : "rp-fits", text: surplus(l.surplus) }),
          h(
            "td",
            { class: "rp-rules" },
            l.rules.map((r) => h("span", { class: "rp-rule", text: r })),
          ),
        ),
      ),
    ),
  );
