// The piece, entered once: what it is, how it is kept, its photographs, evidence beside it, notes, translation.
import { button, choice, field, fold, h, panel, refill } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, ask, show } = panel(given, "ip", "The piece");
  let st = /** @type {any} */ ({});
  const fields = /** @type {Record<string, any>} */ ({});
  const main = h("div", { class: "ip-grid" }),
    long = h("div", { class: "ip-long" }),
    sensitive = h("div", { class: "ra-group" });
  const photos = h("div", {}),
    places = h("div", {}),
    sources = h("div", {}),
    notes = h("div", {});
  body.append(
    main,
    h(
      "div",
      { class: "ip-sens" },
      h("span", { class: "ra-label", text: "What of it is sensitive (chooses the cautions in the report)" }),
      sensitive,
    ),
    long,
    fold("Inscriptions: where they stand", [places]),
    fold("Photographs and their rights", [photos]),
    fold("Evidence beside the piece (box, certificate, rubbing, literature)", [sources], false),
    fold("Notes", [notes]),
  );

  function build() {
    for (const f of st.fields) {
      const x = field(
        f.label,
        (v) => ask("describe", { name: f.name, text: v }),
        f.long ? { rows: 2, lang: "ja" } : { lang: "ja", ...(f.number ? { inputmode: "decimal" } : {}) },
      );
      fields[f.name] = x;
      (f.long ? long : main).append(x.box);
    }
  }
  const free = (/** @type {HTMLElement} */ box) =>
    !(
      box.contains(document.activeElement) &&
      /** @type {HTMLElement} */ (document.activeElement).matches("input[type=text],textarea")
    );
  const put = (
    /** @type {any} */ row,
    /** @type {string} */ name,
    /** @type {string} */ label,
    /** @type {string} */ what,
    more = {},
  ) => {
    const x = field(label, (v) => ask(what, { id: row.id, name, text: v }), {
      lang: "ja",
      "data-key": `${what}-${row.id}-${name}`,
      ...more,
    });
    x.input.value = row[name] ?? "";
    return refield(x, row[name] ?? "");
  };
  const refield = (/** @type {any} */ x, /** @type {string} */ v) => {
    x.put(v);
    return x.box;
  };
  show((now) => {
    if (!now?.fields) return;
    const first = !st.fields;
    st = now;
    if (first) build();
    for (const f of st.fields) fields[f.name].put(f.value);
    refill(
      sensitive,
      st.sensitive.map((/** @type {any} */ [name, on]) =>
        h("button", {
          type: "button",
          class: "ra-button ra-small",
          "aria-pressed": String(on),
          "data-key": `se-${name}`,
          onclick: () => ask("sensitive", { name }),
          text: name,
        }),
      ),
    );
    if (free(photos))
      refill(
        photos,
        st.photos.map((/** @type {any} */ p) =>
          h(
            "div",
            { class: "ip-row" },
            h("b", { text: p.file }),
            h("small", { text: p.words }),
            h(
              "div",
              { class: "ip-grid" },
              put(p, "title", "Title", "photo"),
              put(p, "surface", "Surface", "photo"),
              put(p, "light", "Light", "photo"),
              choice(
                "Kind of picture",
                st.evidence,
                p.evidence,
                (v) => ask("photo", { id: p.id, name: "evidence", text: v }),
                { "data-key": `ev-${p.id}` },
              ),
              put(p, "rights", "Rights", "photo"),
            ),
          ),
        ),
      );
    if (free(places))
      refill(
        places,
        st.inscriptions.length
          ? st.inscriptions.map((/** @type {any} */ i) =>
              h(
                "div",
                { class: "ip-row" },
                h("b", { text: i.words }),
                h(
                  "div",
                  { class: "ip-grid" },
                  choice("What it is", st.kinds, i.kind, (v) => ask("place", { id: i.id, name: "kind", text: v }), {
                    "data-key": `kind-${i.id}`,
                  }),
                  put(i, "title", "Title", "place"),
                  put(i, "surface", "Surface", "place"),
                  put(i, "place", "Where on it", "place"),
                  put(i, "technique", "How it is done (incised, inlaid, lacquered …)", "place"),
                  put(i, "order_note", "Why this reading order", "place"),
                  put(i, "note", "Note", "place"),
                ),
              ),
            )
          : h("p", { class: "ra-hint", text: "None yet." }),
      );
    if (free(sources)) {
      const cite = field("What it says, where it is", () => {}, { lang: "ja", "data-key": "new-cite" });
      const kind = choice(
        "Kind",
        st.source_kinds.map((/** @type {string} */ k) => [k, k]),
        st.source_kinds[0],
        () => {},
      );
      refill(
        sources,
        st.sources.map((/** @type {any} */ s) =>
          h(
            "div",
            { class: "ip-row" },
            h("b", { text: s.kind }),
            " ",
            h("span", { lang: "ja", text: s.citation }),
            h("small", { text: ` (${s.weight} evidence than the piece itself)` }),
          ),
        ),
        h(
          "div",
          { class: "ra-group ip-add" },
          kind,
          cite.box,
          button("Add", () => ask("source", { kind: kind.querySelector("select").value, citation: cite.input.value }), {
            "data-key": "add-source",
          }),
        ),
      );
    }
    if (free(notes)) {
      const text = field("A note about the piece", () => {}, { rows: 2, lang: "ja", "data-key": "new-note" });
      refill(
        notes,
        st.notes.map((/** @type {any} */ n) => h("div", { class: "ip-row", lang: "ja", text: n.text })),
        text.box,
        button("Add the note", () => ask("note", { text: text.input.value }), { "data-key": "add-note" }),
      );
    }
    root.dataset.ready = "1";
  });
}

export default { render };
