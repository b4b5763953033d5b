// A school of its own: pictures in, makers beside them, one comparison, figures as they will be printed.
import { button, field, h, refill } from "./kit.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";
import { Tracing } from "./tracing_panel.js";
import { Upload } from "./upload.js";
import { workBar } from "./work_bar.js";

const SMALL = { class: "ra-button ra-small" };

/** The panel of a school that is a register of its own. */
export class Album {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").AlbumPanelAsks, import("./school_states.js").AlbumPanelState>} */
    const made = panel(given, "al", t`The school`);
    this.root = made.root;
    this.ask = made.ask;
    this.st = /** @type {import("./school_states.js").AlbumPanelState} */ ({});
    this.chosen = /** @type {Set<string>} */ (new Set());
    this.urls = /** @type {string[]} */ ([]);
    this.named = h("input", { type: "checkbox", checked: true });
    this.upload = new Upload(t`Pictures of forms`, { multiple: true, accept: "image/*" }, (args, buffers) =>
      this.ask("picture", { ...args, named: this.named.checked }, buffers),
    );
    this.table = this.makers();
    this.words = h("p", { class: "ra-hint" });
    this.forms = h("div", { class: "al-forms", role: "group", "aria-label": t`Forms` });
    this.whose = h("div", { class: "ra-bar" });
    this.given = given;
    this.sheet = h("div", { class: "al-sheet" });
    this.laid = "";
    this.lifted = new AbortController();
    this.run = h("div", { class: "ra-bar" });
    this.kinds = h("div", { class: "ra-bar" });
    this.figure = h("div", { class: "al-figure" });
    this.out = h("div", { class: "ra-bar" });
    this.said = h("div", {});
    made.on("file", (m, buffers) => this.written(m, buffers));
    const { words, forms, whose, run, kinds, figure, out, said } = this;
    made.body.append(this.drop(), words, forms, whose, this.sheet, run, kinds, figure, out, said);
    given.signal.addEventListener("abort", () => this.urls.forEach((u) => URL.revokeObjectURL(u)));
    made.show((now) => this.show(now));
  }
  /** A new state of the school. @param {import("./school_states.js").AlbumPanelState} now */
  show(now) {
    if (!now?.ready) return;
    this.st = now;
    this.words.textContent = `${now.title}: ${now.words}`;
    this.paintForms();
    this.paintWhose();
    this.paintRun();
    this.paintFigure();
    this.paintSheet();
    this.root.dataset.forms = String(now.forms.length);
    this.root.dataset.done = String(Boolean(now.figures.length));
  }

  // --- coming in and going out --------------------------------------------------------------------
  makers() {
    const table = h("input", {
      type: "file",
      accept: ".csv,text/csv",
      class: "ra-sr",
      tabindex: "-1",
      "aria-label": t`Table of makers (CSV)`,
      onchange: async () => {
        const file = table.files?.[0];
        if (file) await this.ask("makers", { text: await file.text() });
        table.value = "";
      },
    });
    return table;
  }
  /** Where pictures are dropped. */
  drop() {
    const box = h(
      "div",
      { class: "al-drop" },
      button(t`Add pictures …`, () => this.upload.choose(), { class: "ra-button ra-main", "data-key": "add" }),
      t` or drop them here, one form each. `,
      h("label", {}, this.named, t` their names tell maker and year (Rokusen_1790_2.jpg)`),
      this.upload.input,
    );
    box.addEventListener("dragover", (/** @type {Event} */ e) => {
      e.preventDefault();
      box.classList.add("over");
    });
    box.addEventListener("dragleave", () => box.classList.remove("over"));
    box.addEventListener("drop", (/** @type {DragEvent} */ e) => {
      e.preventDefault();
      box.classList.remove("over");
      this.upload.send([...(e.dataTransfer?.files ?? [])]);
    });
    return box;
  }
  /** A figure was written: it can be saved. @param {{name: string, mime: string}} m @param {DataView<ArrayBuffer>[]} buffers */
  written(m, buffers) {
    const url = URL.createObjectURL(new Blob([buffers[0]], { type: m.mime }));
    this.urls.push(url);
    const link = h("a", { ...SMALL, download: m.name, text: t`Save ${m.name} …` });
    link.href = url;
    this.out.append(link);
  }

  // --- forms and whose they are -------------------------------------------------------------------
  paintForms() {
    const there = new Set(this.st.forms.map((f) => f.id));
    for (const id of [...this.chosen]) if (!there.has(id)) this.chosen.delete(id);
    refill(
      this.forms,
      this.st.forms.map((f) => this.form(f)),
    );
  }
  /** @param {import("./school_states.js").AlbumForm} f */
  form(f) {
    const choose = () => {
      if (!this.chosen.delete(f.id)) this.chosen.add(f.id);
      this.paintForms();
      this.paintWhose();
    };
    return h(
      "button",
      { class: "al-form", "aria-pressed": String(this.chosen.has(f.id)), "data-id": f.id, onclick: choose },
      h("img", { alt: "", src: `data:image/jpeg;base64,${f.thumb}` }),
      h("span", { text: `${f.maker || t`not known`} ${f.year}` }),
      f.traced ? h("span", { class: "al-traced", text: t`traced` }) : null,
    );
  }
  paintWhose() {
    const { chosen, st } = this;
    const give = (/** @type {string} */ maker) => {
      this.ask("assign", { ids: [...chosen], maker });
      chosen.clear();
    };
    const nearest = () => this.ask("nearest", { id: [...chosen][0] });
    const offers = chosen.size
      ? [
          ...st.makers.map((m) => button(m[0], () => give(m[0]), { ...SMALL, lang: "ja" })),
          field(t`New maker`, (v) => v && give(v)).box,
          button(t`not known`, () => give(""), SMALL),
          chosen.size === 1 && st.figures.length ? button(t`Nearest to this`, nearest, SMALL) : null,
          chosen.size === 1
            ? button(t`Trace this form`, () => this.ask("trace", { id: [...chosen][0] }), {
                ...SMALL,
                "data-key": "trace",
              })
            : null,
        ]
      : [];
    refill(
      this.whose,
      h("span", { text: chosen.size ? t`${chosen.size} chosen are by` : t`Choose forms to say whose they are.` }),
      offers,
      h("span", { class: "ra-gap" }),
      button(t`Makers from a table (CSV) …`, () => this.table.click(), SMALL),
      this.table,
    );
  }

  // --- the tracing of one form --------------------------------------------------------------------
  /** The sheet is a panel of its own in Python; here it is laid inside this one. */
  async paintSheet() {
    const wanted = this.st.tracing ?? "";
    if (wanted === this.laid) return;
    this.laid = wanted;
    this.lifted.abort();
    this.lifted = new AbortController();
    this.sheet.replaceChildren();
    if (!wanted) return;
    const signal = AbortSignal.any([this.lifted.signal, this.given.signal]);
    const model = await this.given.model.widget_manager.get_model(wanted);
    if (!model || wanted !== this.laid) return; // put away while it was fetched
    const el = h("div");
    this.sheet.append(el);
    const laid = new Tracing({ model, el, signal });
    laid.back = () => this.ask("trace", { id: "" });
  }

  // --- the comparison -----------------------------------------------------------------------------
  paintRun() {
    const { st } = this;
    const compare = () => this.ask("compare");
    const all = { class: "ra-button ra-main", disabled: Boolean(st.busy) || st.forms.length < 2, "data-key": "all" };
    refill(
      this.run,
      button(st.figures.length ? t`Compare all again` : t`Compare all forms`, compare, all),
      ...workBar(st.busy, () => {
        this.upload.stop();
        this.ask("stop");
      }),
    );
  }
  paintFigure() {
    const { st } = this,
      f = st.figure;
    const kind = (/** @type {[string, string]} */ [k, title]) =>
      button(title, () => this.ask("show", { figure: k }), {
        ...SMALL,
        "aria-pressed": String(k === st.shown),
        "data-key": k,
      });
    const print = (/** @type {string} */ e) =>
      button(e === "page" ? t`Whole study (HTML)` : e.toUpperCase(), () => this.ask("print", { ending: e }), {
        ...SMALL,
        disabled: Boolean(st.busy),
        "data-key": e,
      });
    const picture = () => h("img", { alt: f?.title, src: `data:image/svg+xml;base64,${f?.svg}` });
    refill(this.kinds, st.figures.map(kind));
    refill(this.figure, f ? (f.svg ? picture() : h("p", { text: f.title })) : null);
    refill(this.out, f?.svg ? ["pdf", "svg", "png"].map(print) : [], st.figures.length ? print("page") : null);
    refill(
      this.said,
      st.sentence ? h("p", { class: "ra-caution", text: st.sentence }) : null,
      st.sentences.map((x) => h("p", { text: x })),
    );
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Album(given);
}

export default { render: inLanguage(render) };
