// The persons of a signature: who is held, who is known, what is said of them.
import { button, choice, chosen, field, h, ja, refill, table } from "./kit.js";
import { t } from "./texts.js";

/** @typedef {import("./kit.js").Attrs} Attrs */

/** The persons of a signature. */
export class People {
  /** @param {import("./signature_panel.js").Signature} signature */
  constructor(signature) {
    this.signature = signature;
  }
  /** Somebody's facts as fields. @param {import("./school_states.js").PersonRow|undefined} p undefined for somebody new */
  form(p) {
    const { st } = this.signature,
      people = st.people.filter((q) => q.id !== p?.id);
    /** @type {Record<string, HTMLInputElement>} */ const inputs = {};
    const keep = (
      /** @type {Exclude<keyof import("./school_states.js").PersonRow, "parts">} */ k,
      /** @type {string} */ label,
      more = /** @type {Attrs} */ ({ lang: "ja" }),
    ) => {
      const x = field(label, () => {}, { "data-key": `pe-${k}`, ...more });
      x.input.value = p?.[k] ?? "";
      inputs[k] = x.input;
      return x.box;
    };
    const year = { inputmode: "numeric" },
      none = () => {};
    const teachers = /** @type {[string, string][]} */ ([["", t`not known`], ...people.map((q) => [q.id, q.name])]),
      roles = /** @type {[string, string][]} */ ([["", t`none|role`], ...st.roles]);
    const teacher = choice(t`Teacher`, teachers, p?.teacher ?? "", none),
      role = choice(t`Part in this inscription`, roles, "", none);
    const save = () => {
      const fields = Object.fromEntries(Object.entries(inputs).map(([k, i]) => [k, i.value]));
      this.save(p, { ...fields, teacher: chosen(teacher) }, chosen(role));
    };
    return h(
      "div",
      { class: "sp-form" },
      h(
        "div",
        { class: "sp-fields" },
        keep("name", t`Name`),
        keep("readings", t`Readings (、 between them)`),
        keep("aliases", t`Other names`),
        keep("school", t`School`),
        teacher,
        keep("generation", t`Generation`, year),
        keep("born", t`Born`, year),
        keep("died", t`Died`, year),
        keep("active_from", t`Active from`, year),
        keep("active_to", t`Active to`, year),
        role,
      ),
      h(
        "div",
        { class: "ra-group sp-do" },
        button(t`Save`, save, { class: "ra-button ra-main" }),
        button(t`Cancel`, () => this.edit("")),
      ),
    );
  }
  /** @param {import("./school_states.js").PersonRow|undefined} p @param {Record<string, string>} fields @param {string} role */
  save(p, fields, role) {
    this.signature.ask("person", { id: p?.id ?? "", fields, role }).then(() => this.edit(""));
  }
  /** Whose facts are open as fields: an id, "new", "" for nobody's. @param {string} who */
  edit(who) {
    this.signature.editing = who;
    this.paintPeople();
  }
  /** Somebody in a line of the table. @param {import("./school_states.js").PersonRow} p */
  row(p) {
    const more = { class: "ra-button ra-small", "data-key": `pc-${p.id}`, "aria-label": t`Change ${p.name}` };
    return [
      h("div", { class: "sp-name" }, ja(p.name), " ", h("small", { text: p.readings })),
      h(
        "div",
        {},
        p.parts.map((r) => h("div", { text: r })),
      ),
      p.kin,
      p.dates,
      button(t`Change`, () => this.edit(p.id), more),
    ];
  }
  paintPeople() {
    const { st, people, editing } = this.signature,
      at = /** @type {HTMLElement} */ (document.activeElement);
    if (people.contains(at) && at.matches("input")) return;
    const add = () => {
      this.edit("new");
      people.querySelector("input")?.focus();
    };
    refill(
      people,
      h(
        "div",
        { class: "sp-head" },
        h("h3", { text: t`People and their part in the piece` }),
        editing ? null : button(t`Add a person …`, add, { class: "ra-button ra-small", "data-key": "add-person" }),
      ),
      editing ? this.form(st.people.find((p) => p.id === editing)) : null,
      st.people.length
        ? h(
            "div",
            { class: "sp-rows" },
            table(
              [t`Name`, t`Part|of a person`, t`School, teacher`, t`Dates`, ""],
              st.people.map((p) => this.row(p)),
            ),
          )
        : h("p", { class: "ra-hint", text: t`Nobody entered yet.` }),
    );
  }
}
