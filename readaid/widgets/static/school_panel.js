// A school: its tree of teachers, the likeness of all forms with all, the nearest forms, and what may be said of it.
import { button, h, panel, refill, s } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, ask, show, on } = panel(given, "lp", "The school");
  let st = /** @type {any} */ ({});
  const file = h("input", {
    type: "file",
    accept: ".csv,text/csv",
    class: "ra-sr",
    tabindex: "-1",
    "aria-label": "Table of makers (CSV)",
    onchange: async () => {
      if (file.files[0]) await ask("makers", { text: await file.files[0].text() });
      file.value = "";
    },
  });
  const tree = h("div", { class: "lp-tree" }),
    run = h("div", { class: "ra-bar" }),
    matrix = h("div", { class: "lp-matrix", tabindex: "0", role: "region", "aria-label": "Likeness of all forms" }),
    near = h("div", {}),
    test = h("div", {}),
    charts = h("div", { class: "lp-charts" });
  const meter = h("progress", { max: "1", "aria-label": "Pairs compared" });
  on("progress", (/** @type {any} */ m) => {
    meter.value = m.share;
  });
  body.append(
    h(
      "div",
      { class: "ra-group" },
      h("h3", { text: "Teachers and pupils" }),
      h("span", { class: "ra-gap" }),
      button("Take makers from a table (CSV) …", () => file.click(), { class: "ra-button ra-small" }),
      file,
    ),
    tree,
    h("h3", { text: "Likeness of all forms with all" }),
    run,
    matrix,
    charts,
    near,
    test,
    h(
      "p",
      { class: "ra-caution" },
      "Kin forms are a hypothesis to test, since fashion and patrons shape them too. With few specimens every figure has a wide margin. Rank and distance say which forms are alike, never who made them.",
    ),
  );

  function paintTree() {
    if (!st.makers.length) return refill(tree, h("p", { class: "ra-hint", text: st.tree_words }));
    const wide = 250,
      high = 62,
      columns = Math.max(...st.makers.map((/** @type {any} */ m) => m.column)),
      rows = Math.max(...st.makers.map((/** @type {any} */ m) => m.row));
    const at = Object.fromEntries(st.makers.map((/** @type {any} */ m) => [m.id, m]));
    const kids = [];
    for (const m of st.makers)
      if (at[m.teacher]) {
        const x1 = at[m.teacher].column * wide + 200,
          y1 = at[m.teacher].row * high + 30,
          x2 = m.column * wide + 10,
          y2 = m.row * high + 30;
        kids.push(
          s("path", { d: `M${x1} ${y1}C${(x1 + x2) / 2} ${y1} ${(x1 + x2) / 2} ${y2} ${x2} ${y2}`, class: "lp-line" }),
        );
      }
    for (const m of st.makers)
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
      { role: "img", "aria-label": st.tree_alt, width: (columns + 1) * wide, height: (rows + 1) * high + 10 },
      kids,
    );
    refill(tree, svg, st.tree_words ? h("p", { class: "ra-hint", text: st.tree_words }) : null);
  }
  function paintMatrix() {
    const m = st.matrix;
    refill(
      run,
      button(
        m ? "Compare all again" : "Compare all forms",
        () => {
          meter.value = 0;
          ask("compare_all");
        },
        { class: "ra-button ra-main", disabled: Boolean(st.busy) || st.forms < 2, "data-key": "all" },
      ),
      st.busy ? [meter, button("Stop", () => ask("stop"), { class: "ra-button ra-small", "data-key": "stop" })] : null,
      h("span", { class: "ra-hint", text: st.words }),
    );
    if (!m) {
      refill(matrix);
      refill(near);
      refill(test);
      refill(charts);
      return;
    }
    const shade = (/** @type {number} */ v) => {
      const k = Math.max(0, Math.min(1, (v - m.low) / Math.max(1e-6, 1 - m.low)));
      return `background:rgb(${Math.round(251 - 220 * k)},${Math.round(250 - 160 * k)},${Math.round(246 - 108 * k)});color:${k > 0.55 ? "#fff" : "#22262b"}`;
    };
    refill(
      matrix,
      h(
        "table",
        { class: "lp-heat" },
        h("caption", { class: "ra-sr", text: "Likeness of form, 0 to 1" }),
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            h("td", {}),
            m.names.map((/** @type {string} */ n) =>
              h("th", { scope: "col", lang: "ja", class: "lp-up" }, h("span", { text: n })),
            ),
          ),
        ),
        h(
          "tbody",
          {},
          m.rows.map((/** @type {number[]} */ r, /** @type {number} */ i) =>
            h(
              "tr",
              {},
              h("th", { scope: "row", lang: "ja", text: m.names[i] }),
              r.map((v, j) => h("td", { style: i === j ? "" : shade(v), text: i === j ? "" : v.toFixed(2) })),
            ),
          ),
        ),
      ),
    );
    refill(
      charts,
      st.charts.map((/** @type {any} */ c) => {
        const box = h(
          "figure",
          {},
          h("img", { alt: c.title, src: `data:image/svg+xml;base64,${c.svg}` }),
          h("figcaption", { text: c.title }),
        );
        return box;
      }),
    );
    refill(
      near,
      m.nearest.length
        ? [
            h("h3", { text: `Nearest to ${m.of}` }),
            h(
              "table",
              {},
              h(
                "thead",
                {},
                h(
                  "tr",
                  {},
                  ["Rank", "Maker", "Likeness", "Distance", "Forms on hand", "Nearest form"].map((x) =>
                    h("th", { scope: "col", text: x }),
                  ),
                ),
              ),
              h(
                "tbody",
                {},
                m.nearest.map((/** @type {any[]} */ r) =>
                  h(
                    "tr",
                    {},
                    r.map((x) => h("td", { lang: "ja", text: x })),
                  ),
                ),
              ),
            ),
            h("p", { text: m.sentence }),
          ]
        : null,
    );
    refill(
      test,
      st.tests.length
        ? [
            h("h3", { text: "Does likeness follow teaching?" }),
            st.tests.map((/** @type {string} */ t) => h("p", { text: t })),
          ]
        : null,
    );
  }
  show((now) => {
    if (!now?.ready) return;
    st = now;
    paintTree();
    paintMatrix();
    root.dataset.forms = String(st.forms);
    root.dataset.done = String(Boolean(st.matrix));
  });
}

export default { render };
