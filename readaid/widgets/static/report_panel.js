// The report: which format and edition, written into the piece folder, looked at here, saved where the reader wants it.
import { button, choice, field, fold, h, refill } from "./kit.js";
import { Fold } from "./panel_fold.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";
import { workBar } from "./work_bar.js";

/** The panel that writes reports. */
export class Report {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").ReportPanelAsks, import("./register_states.js").ReportPanelState>} */
    const made = panel(given, "tp", t`Report`);
    this.fold = new Fold(made, "tp", "report");
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.on = made.on;
    this.say = made.say;
    this.signal = given.signal;
    this.st = /** @type {import("./register_states.js").ReportPanelState} */ ({});
    this.url = "";
    this.entries = h("div", { class: "tp-entries" });
    this.condition = h("div", { class: "tp-condition" });
    this.form = h("div", { class: "ra-bar tp-form" });
    this.done = h("div", { class: "tp-done" });
    this.frame = h("div", { class: "tp-frame" });
    const part = { name: "report", class: "ra-fold ra-room" }; // one is open, what the report is made of stays in sight
    this.body.append(
      h("p", {
        class: "ra-hint",
        text: t`Position, owner and camera number are left out of every report unless you ask for them.`,
      }),
      fold(t`Catalogue entry of each inscription`, [this.entries], false, part),
      fold(t`Condition: layers and damaged places`, [this.condition], false, part),
      this.form,
      this.done,
      this.frame,
    );
    this.on("report", (m, buffers) => this.written(m, buffers));
    this.signal.addEventListener("abort", () => this.url && URL.revokeObjectURL(this.url));
    this.show((now) => {
      if (!now?.formats) return;
      this.st = now;
      this.fold.holds(t`Inscriptions`, now.entries.length);
      if (!this.typing()) this.paintEntries();
      if (!this.typing(this.condition)) this.paintCondition();
      this.paint();
    });
  }
  /** The report is there: it can be saved and looked at. @param {import("./messages.js").Told["report"]} m @param {DataView<ArrayBuffer>[]} buffers */
  written(m, buffers) {
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = URL.createObjectURL(new Blob([buffers[0]], { type: m.mime }));
    const link = h("a", { class: "ra-button tp-save", download: m.name, text: t`Save a copy of ${m.name}` });
    link.href = this.url;
    refill(this.done, h("p", {}, t`Written: `, h("code", { text: m.path }), ` (${m.size})`), link);
    this.root.dataset.written = m.name;
    if (m.look === "html") {
      const f = h("iframe", { title: t`The report`, sandbox: "", class: "tp-look" });
      f.src = this.url;
      refill(this.frame, f);
    } else if (m.look === "text") {
      const pre = h("pre", { class: "tp-text", tabindex: "0", lang: "ja" });
      new Response(buffers[0]).text().then((text) => {
        pre.textContent = text.slice(0, 20000);
      });
      refill(this.frame, pre);
    } else refill(this.frame);
    this.say(t`The report is written: ${m.name}.`);
  }
  paint() {
    const flag = (/** @type {string} */ label, /** @type {"private"|"blind"} */ name) =>
      h("button", {
        type: "button",
        class: "ra-button",
        "aria-pressed": String(this.st[name]),
        "data-key": name,
        onclick: () => this.ask("set", { name, value: !this.st[name] }),
        text: label,
      });
    refill(
      this.form,
      choice(t`Format`, this.st.formats, this.st.format, (v) => this.ask("set", { name: "format", value: v }), {
        "data-key": "format",
      }),
      choice(
        t`Edition marks`,
        [
          ["leiden", t`Leiden: [ ] dot under …`],
          ["japanese", t`Japanese: □ ［カ］ …`],
        ],
        this.st.edition,
        (v) => this.ask("set", { name: "edition", value: v }),
        { "data-key": "edition" },
      ),
      choice(
        t`Language`,
        [
          ["en", t`English`],
          ["ja", "日本語"],
        ],
        this.st.language,
        (v) => this.ask("set", { name: "language", value: v }),
        { "data-key": "language" },
      ),
      choice(
        t`How much`,
        [
          ["full", t`Entry and evidence`],
          ["entry", t`Entry alone`],
        ],
        this.st.part,
        (v) => this.ask("set", { name: "part", value: v }),
        { "data-key": "part" },
      ),
      flag(t`With place and provenance`, "private"),
      flag(t`Blind (no readings)`, "blind"),
      button(t`Write the report`, () => this.ask("write"), {
        class: "ra-button ra-main",
        disabled: Boolean(this.st.busy),
        "data-key": "write",
      }),
      ...workBar(this.st.busy, () => this.ask("stop")),
    );
  }

  /** A field is being typed in: what it lies in is not drawn again. */
  typing(box = this.entries) {
    const at = document.activeElement;
    return Boolean(at && box.contains(at) && at.matches("input[type=text],textarea"));
  }
  paintCondition() {
    const hint = t`Draw a zone round a damaged place on the photograph and say that it is one; it is described here.`;
    refill(
      this.condition,
      this.layers(),
      h("p", { class: "ra-hint", text: hint }),
      this.st.regions.map((r) => this.region(r)),
    );
  }
  /** The layers of the surface, and a line for a further one. */
  layers() {
    let kind = this.st.layer_kinds[0][0];
    const add = (/** @type {string} */ text) => {
      if (text) this.ask("layer", { kind, text });
    };
    const pick = (/** @type {string} */ v) => {
      kind = v;
    };
    const held = this.st.layers.map((layer) => h("li", { text: layer }));
    return [
      h("ul", {}, held),
      choice(t`Layer`, this.st.layer_kinds, kind, pick, { "data-key": "layer-kind" }),
      field(t`What the layer is`, add, { lang: "ja", "data-key": "layer-text" }).box,
    ];
  }
  /** A damaged place that was drawn on the photograph: its cause, what to do about it, a note. @param {import("./register_states.js").RegionRow} r */
  region(r) {
    const put = (/** @type {string} */ name) => (/** @type {string} */ text) =>
      this.ask("region", { id: r.id, name, text });
    const note = field(t`Note`, put("note"), { lang: "ja", "data-key": `region-note-${r.id}` });
    note.put(r.note);
    return h(
      "div",
      { class: "ra-group" },
      h("span", { text: r.words }),
      choice(t`Cause`, this.st.causes, r.cause, put("cause"), { "data-key": `region-cause-${r.id}` }),
      choice(t`What to do`, this.st.advices, r.advice, put("advice"), { "data-key": `region-advice-${r.id}` }),
      note.box,
      button(t`Take back`, () => this.ask("unmark", { id: r.id }), { "data-key": `region-off-${r.id}` }),
    );
  }
  paintEntries() {
    refill(
      this.entries,
      this.st.entries.map((e) => this.entry(e)),
    );
  }
  /** The catalogue entry of one inscription. @param {import("./register_states.js").EntryRow} e */
  entry(e) {
    const propose = () => this.ask("propose", { id: e.id });
    return h(
      "div",
      { class: "tp-entry" },
      h("b", { text: e.words }),
      button(t`Propose what can be computed`, propose, { "data-key": `propose-${e.id}` }),
      e.fields.map((f) => this.fieldOf(e, f)),
    );
  }
  /** One field of an entry; what the program proposes stands below it and is taken over by a press. @param {import("./register_states.js").EntryRow} e @param {import("./register_states.js").EntryField} f */
  fieldOf(e, f) {
    const put = (/** @type {string} */ text) => this.ask("entry", { id: e.id, name: f.name, text });
    const key = `entry-${e.id}-${f.name}`;
    const x = field(f.label, put, { lang: "ja", "data-key": key, ...(f.long ? { rows: 2 } : {}) });
    x.put(f.value);
    const take = () => put(f.offer);
    return f.offer ? [x.box, button(`${f.offer}`, take, { "data-key": `take-${key}`, lang: "ja" })] : [x.box];
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Report(given);
}

export default { render: inLanguage(render) };
