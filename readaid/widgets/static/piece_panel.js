// The piece, entered once: what it is, how it is kept, its photographs, evidence beside it, notes, translation.
import { button, choice, chosen, field, fold, h, refill } from "./kit.js";
import { Fold } from "./panel_fold.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";

/** The panel of the piece itself. */
export class Piece {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").PiecePanelAsks, import("./register_states.js").PiecePanelState>} */
    const made = panel(given, "ip", t`The piece`);
    this.fold = new Fold(made, "ip", "report");
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.st = /** @type {import("./register_states.js").PiecePanelState} */ ({});
    this.fields = /** @type {Record<string, {box: HTMLElement, put: (v: string) => void}>} */ ({});
    this.main = h("div", { class: "ip-grid" });
    this.long = h("div", { class: "ip-long" });
    this.sensitive = h("div", { class: "ra-group" });
    this.photos = h("div", {});
    this.places = h("div", {});
    this.sources = h("div", {});
    this.notes = h("div", {});
    this.lay();
    this.show((now) => {
      if (!now?.fields) return;
      const first = !this.st.fields;
      this.st = now;
      this.fold.holds(now.fields[0].value || t`Photographs`, now.fields[0].value ? undefined : now.photos.length);
      if (first) this.build();
      for (const f of this.st.fields) this.fields[f.name].put(f.value);
      this.paintSensitive();
      if (this.free(this.photos)) this.paintPhotos();
      if (this.free(this.places)) this.paintPlaces();
      if (this.free(this.sources)) this.paintSources();
      if (this.free(this.notes)) this.paintNotes();
      this.root.dataset.ready = "1";
    });
  }
  build() {
    for (const f of this.st.fields) {
      const x = f.choices.length
        ? this.listed(f)
        : field(
            f.label,
            (v) => this.ask("describe", { name: f.name, text: v }),
            f.long ? { rows: 2, lang: "ja" } : { lang: "ja", ...(f.number ? { inputmode: "decimal" } : {}) },
          );
      this.fields[f.name] = x;
      (f.long ? this.long : this.main).append(x.box);
    }
  }
  /** A fact that is chosen from a list. @param {import("./register_states.js").PieceField} f */
  listed(f) {
    const box = h("div", {});
    const put = (/** @type {string} */ now) =>
      refill(
        box,
        choice(f.label, f.choices, now, (v) => this.ask("describe", { name: f.name, text: v }), {
          "data-key": `piece-${f.name}`,
        }),
      );
    return { box, put };
  }
  free(/** @type {HTMLElement} */ box) {
    return !(
      box.contains(document.activeElement) &&
      /** @type {HTMLElement} */ (document.activeElement).matches("input[type=text],textarea")
    );
  }
  /** One fact of a row as a field. @template {{id: string}} R
   * @param {R} row @param {keyof R & string} name @param {string} label @param {"photo"|"place"} what */
  put(row, name, label, what) {
    const x = field(label, (v) => this.ask(what, { id: row.id, name, text: v }), {
      lang: "ja",
      "data-key": `${what}-${row.id}-${name}`,
    });
    x.put(String(row[name] ?? ""));
    return x.box;
  }
  lay() {
    // one part is open: the one before it closes (`name`), so that all headings stay in sight
    const part = (
      /** @type {string} */ key,
      /** @type {string} */ title,
      /** @type {Element[]} */ kids,
      open = false,
    ) => fold(title, [h("div", { class: "ip-part" }, kids)], open, { name: "piece", class: "ra-fold ra-room", key });
    this.body.append(
      part(
        "part-basic",
        t`Basic facts`,
        [
          this.main,
          h(
            "div",
            { class: "ip-sens" },
            h("span", { class: "ra-label", text: t`What of it is sensitive (chooses the cautions in the report)` }),
            this.sensitive,
          ),
        ],
        true,
      ),
      part("part-history", t`Condition, provenance, literature`, [this.long]),
      part("part-places", t`Inscriptions: where they stand`, [this.places]),
      part("part-photos", t`Photographs and their rights`, [this.photos]),
      part("part-sources", t`Evidence beside the piece (box, certificate, rubbing, literature)`, [this.sources]),
      part("part-notes", t`Notes`, [this.notes]),
    );
  }
  paintSensitive() {
    refill(
      this.sensitive,
      this.st.sensitive.map(([name, on, words]) =>
        h("button", {
          type: "button",
          class: "ra-button ra-small",
          "aria-pressed": String(on),
          "data-key": `se-${name}`,
          onclick: () => this.ask("sensitive", { name }),
          text: words,
        }),
      ),
    );
  }
  paintPhotos() {
    refill(
      this.photos,
      this.st.photos.map((p) =>
        h(
          "div",
          { class: "ip-row" },
          h("b", { text: p.file }),
          h("small", { text: p.words }),
          h(
            "div",
            { class: "ip-grid" },
            this.put(p, "title", t`Title`, "photo"),
            this.put(p, "surface", t`Surface`, "photo"),
            this.put(p, "light", t`Light`, "photo"),
            choice(
              t`Kind of picture`,
              this.st.evidence,
              p.evidence,
              (v) => this.ask("photo", { id: p.id, name: "evidence", text: v }),
              { "data-key": `ev-${p.id}` },
            ),
            this.put(p, "rights", t`Rights`, "photo"),
          ),
        ),
      ),
    );
  }
  paintPlaces() {
    refill(
      this.places,
      this.st.inscriptions.length
        ? this.st.inscriptions.map((i) =>
            h(
              "div",
              { class: "ip-row" },
              h("b", { text: i.words }),
              h(
                "div",
                { class: "ip-grid" },
                choice(
                  t`What it is`,
                  this.st.kinds,
                  i.kind,
                  (v) => this.ask("place", { id: i.id, name: "kind", text: v }),
                  { "data-key": `kind-${i.id}` },
                ),
                this.put(i, "title", t`Title`, "place"),
                this.put(i, "surface", t`Surface`, "place"),
                this.put(i, "place", t`Where on it`, "place"),
                this.put(i, "technique", t`How it is done (incised, inlaid, lacquered …)`, "place"),
                this.put(i, "order_note", t`Why this reading order`, "place"),
                this.put(i, "note", t`Note`, "place"),
              ),
            ),
          )
        : h("p", { class: "ra-hint", text: t`None yet.` }),
    );
  }
  paintSources() {
    const cite = field(t`What it says, where it is`, () => {}, { lang: "ja", "data-key": "new-cite" });
    const kind = choice(t`Kind`, this.st.source_kinds, this.st.source_kinds[0][0], () => {});
    refill(
      this.sources,
      this.st.sources.map((s) =>
        h(
          "div",
          { class: "ip-row" },
          h("b", { text: s.kind }),
          " ",
          h("span", { text: s.citation }),
          h("small", { text: t` (${s.weight} evidence than the piece itself)` }),
        ),
      ),
      h(
        "div",
        { class: "ra-group ip-add" },
        kind,
        cite.box,
        button(t`Add`, () => this.ask("source", { kind: chosen(kind), citation: cite.input.value }), {
          "data-key": "add-source",
        }),
      ),
    );
  }
  paintNotes() {
    const text = field(t`A note about the piece`, () => {}, { rows: 2, lang: "ja", "data-key": "new-note" });
    refill(
      this.notes,
      this.st.notes.map((n) => h("div", { class: "ip-row", text: n.text })),
      text.box,
      button(t`Add the note`, () => this.ask("note", { text: text.input.value }), { "data-key": "add-note" }),
    );
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Piece(given);
}

export default { render: inLanguage(render) };
