// The signature taken apart, the people it may name, the dates that fit. Alternatives, never one forced reading.
import { button, choice, field, fold, h, ja, panel, refill } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, ask, show, letters } = panel(given, "sp", "Signature, people, date");
  let st = /** @type {any} */ ({});
  const bar = h("div", { class: "ra-bar" });
  const text = field("The signature as it stands (? for an unread sign)", (v) => ask("text", { text: v }), {
    lang: "ja",
    class: "ra-input sp-text",
  });
  const parses = h("div", {}),
    people = h("div", {}),
    dates = h("div", {});
  const date = field("The date as it stands (〇 or ? for an unread sign)", (v) => ask("date", { text: v }), {
    lang: "ja",
    class: "ra-input sp-text",
  });
  const period = field(
    "Working period (two Western years; other dates are folded away)",
    (v) => ask("period", { text: v }),
    { class: "ra-input" },
  );
  body.append(
    bar,
    h(
      "div",
      { class: "sp-grid" },
      h("div", {}, text.box, h("h3", { text: "Parts, the likeliest way first" }), parses),
      h("div", {}, date.box, h("h3", { text: "Dates that fit" }), dates, period.box),
    ),
    h("h3", { text: "People and their part in the piece" }),
    people,
    h(
      "p",
      { class: "ra-caution" },
      "A name on a piece is a claim, not a proof: signatures were added later, written by pupils with leave, and forged. A monogram may belong to an appraiser, not to the maker.",
    ),
  );

  function paintParses() {
    const way = (/** @type {any} */ p, /** @type {number} */ i) =>
      h(
        "div",
        { class: `sp-parse ${i ? "" : "sp-first"}` },
        h(
          "div",
          { class: "sp-parts" },
          p.parts.map((/** @type {any} */ x) =>
            h(
              "div",
              { class: "sp-part" },
              ja(x.text, "ra-ja sp-big"),
              h("b", { text: x.kind }),
              x.readings ? h("small", { lang: "ja", text: x.readings }) : null,
              x.meaning ? h("small", { text: x.meaning }) : null,
            ),
          ),
        ),
        h(
          "div",
          { class: "ra-group" },
          p.kept
            ? h("span", { class: "sp-kept", text: "✓ in the register" })
            : button("Write this way down", () => ask("keep_signature", { index: i }), {
                class: "ra-button ra-small",
                "data-key": `p-${i}`,
              }),
          h("small", { text: p.words }),
        ),
        (p.checks ?? []).map((/** @type {string} */ c) => h("div", {}, h("small", { class: "sp-check", text: c }))),
      );
    const others = st.parses.slice(1).map((/** @type {any} */ p, /** @type {number} */ i) => way(p, i + 1));
    refill(
      parses,
      st.parses.length
        ? [
            way(st.parses[0], 0),
            others.length
              ? fold(
                  `${others.length} other way${others.length > 1 ? "s" : ""}`,
                  others,
                  Boolean(parses.querySelector("details")?.open),
                )
              : null,
          ]
        : h("p", { class: "ra-hint", text: st.signature_words }),
    );
  }
  function paintDates() {
    const row = (/** @type {any} */ d, /** @type {number} */ i) =>
      h(
        "tr",
        {},
        h("td", { lang: "ja", text: d.era }),
        h(
          "td",
          {},
          ja(d.cycle),
          h("div", { class: d.agrees === "they do not agree" ? "sp-no" : "sp-yes", text: d.agrees }),
        ),
        h("td", {}, d.range, d.notes ? h("div", {}, h("small", { text: d.notes })) : null),
        h(
          "td",
          {},
          button("Keep", () => ask("keep_date", { index: i }), {
            class: "ra-button ra-small",
            "data-key": `d-${i}`,
            "aria-label": `Keep ${d.era} ${d.range}`,
          }),
        ),
      );
    const table = (/** @type {boolean} */ folded) =>
      h(
        "table",
        {},
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            ["Era and year", "Cycle", "Western days", ""].map((x) => h("th", { scope: "col", text: x })),
          ),
        ),
        h(
          "tbody",
          {},
          st.datings
            .map((/** @type {any} */ d, /** @type {number} */ i) => (d.folded === folded ? row(d, i) : null))
            .filter(Boolean),
        ),
      );
    const far = st.datings.filter((/** @type {any} */ d) => d.folded).length;
    refill(
      dates,
      st.datings.length
        ? [
            table(false),
            h("small", { text: st.date_words }),
            far
              ? fold(
                  `${far} more outside the working period`,
                  [table(true)],
                  Boolean(dates.querySelector("details")?.open),
                )
              : null,
          ]
        : h("p", { class: "ra-hint", text: st.date_words }),
      st.kept_dates.length
        ? h(
            "p",
            {},
            h("b", { text: "In the register: " }),
            st.kept_dates.map((/** @type {any} */ d) =>
              h("span", { class: "sp-keptdate" }, ja(d.text), ` ${d.range} `),
            ),
          )
        : null,
    );
  }
  let editing = "";
  function paintPeople() {
    const f = {},
      keep = (/** @type {string} */ k, /** @type {string} */ label, /** @type {string} */ value, more = {}) => {
        const x = field(label, () => {}, { "data-key": `pe-${k}`, ...more });
        x.input.value = value ?? "";
        f[k] = x.input;
        return x.box;
      };
    const form = (/** @type {any} */ p) => {
      const teacher = choice(
        "Teacher",
        [
          ["", "not known"],
          ...st.people.filter((/** @type {any} */ q) => q.id !== p?.id).map((/** @type {any} */ q) => [q.id, q.name]),
        ],
        p?.teacher ?? "",
        () => {},
      );
      const role = choice(
        "Part in this inscription",
        [["", "none"], ...st.roles.map((/** @type {string} */ r) => [r, r])],
        "",
        () => {},
      );
      return h(
        "div",
        { class: "sp-form" },
        keep("name", "Name", p?.name, { lang: "ja" }),
        keep("readings", "Readings (、 between them)", p?.readings, { lang: "ja" }),
        keep("aliases", "Other names", p?.aliases, { lang: "ja" }),
        keep("school", "School", p?.school, { lang: "ja" }),
        teacher,
        keep("generation", "Generation", p?.generation, { inputmode: "numeric" }),
        keep("born", "Born", p?.born, { inputmode: "numeric" }),
        keep("died", "Died", p?.died, { inputmode: "numeric" }),
        keep("active_from", "Active from", p?.active_from, { inputmode: "numeric" }),
        keep("active_to", "Active to", p?.active_to, { inputmode: "numeric" }),
        role,
        h(
          "div",
          { class: "ra-group sp-do" },
          button(
            "Save",
            () => {
              const fields = Object.fromEntries(
                Object.entries(f).map(([k, i]) => [k, /** @type {HTMLInputElement} */ (i).value]),
              );
              ask("person", {
                id: p?.id ?? "",
                fields: { ...fields, teacher: teacher.querySelector("select").value },
                role: role.querySelector("select").value,
              }).then(() => {
                editing = "";
                paintPeople();
              });
            },
            { class: "ra-button ra-main" },
          ),
          button("Cancel", () => {
            editing = "";
            paintPeople();
          }),
        ),
      );
    };
    if (people.contains(document.activeElement) && /** @type {HTMLElement} */ (document.activeElement).matches("input"))
      return;
    refill(
      people,
      st.people.length
        ? h(
            "table",
            {},
            h(
              "thead",
              {},
              h(
                "tr",
                {},
                ["Name", "Part", "School, teacher", "Dates", ""].map((x) => h("th", { scope: "col", text: x })),
              ),
            ),
            h(
              "tbody",
              {},
              st.people.map((/** @type {any} */ p) =>
                h(
                  "tr",
                  {},
                  h("td", {}, ja(p.name), h("div", {}, h("small", { lang: "ja", text: p.readings }))),
                  h(
                    "td",
                    {},
                    p.parts.map((/** @type {string} */ r) => h("div", { text: r })),
                  ),
                  h("td", { lang: "ja", text: p.kin }),
                  h("td", { text: p.dates }),
                  h(
                    "td",
                    {},
                    button(
                      "Change",
                      () => {
                        editing = p.id;
                        paintPeople();
                      },
                      { class: "ra-button ra-small", "data-key": `pc-${p.id}`, "aria-label": `Change ${p.name}` },
                    ),
                  ),
                ),
              ),
            ),
          )
        : h("p", { class: "ra-hint", text: "Nobody entered yet." }),
      editing
        ? form(st.people.find((/** @type {any} */ p) => p.id === editing))
        : button(
            "Add a person …",
            () => {
              editing = "new";
              paintPeople();
              people.querySelector("input")?.focus();
            },
            { "data-key": "add-person" },
          ),
    );
  }
  show((now) => {
    if (!now?.roles) return;
    st = now;
    refill(
      bar,
      choice("Inscription", st.inscriptions, st.inscription, (v) => ask("inscription", { inscription: v }), {
        "data-key": "insc",
      }),
    );
    text.put(st.text);
    date.put(st.date_text);
    period.put(st.period);
    paintParses();
    paintDates();
    paintPeople();
    root.dataset.parses = String(st.parses.length);
    letters();
  });
}

export default { render };
