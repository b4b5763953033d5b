// The card about one photograph: what it shows, its light, mirrored or not; and the tools on it.
import { button, choice, field, h } from "./kit.js";
import { places, t } from "./texts.js";

/** The card about one photograph. */
export class AboutCard {
  /** @param {import("./photo_cards.js").PhotoCards} pictures */
  constructor(pictures) {
    this.pictures = pictures;
    this.m = pictures.m;
  }
  tools() {
    const { m } = this,
      st = m.st,
      gone = !st.photo || Boolean(st.trouble);
    const tool = (/** @type {string} */ word, /** @type {string} */ mode, /** @type {string} */ title) =>
      button(word, () => m.hand.setMode(m.mode === mode ? "hand" : mode), {
        class: "ra-button ra-small",
        "data-mode": mode,
        "data-key": `mode-${mode}`,
        "aria-pressed": String(m.mode === mode),
        title,
        disabled: gone,
      });
    return this.pictures.cards.card("", [
      h(
        "div",
        { class: "ra-group", role: "toolbar", "aria-label": t`Photograph tools` },
        tool(t`Set the scale`, "scale", t`Two clicks and a length you know`),
        tool(
          t`Square up`,
          "square",
          t`Four corners of something rectangular; makes a straightened picture, zones stay on the untouched photograph`,
        ),
        tool(
          t`Straighten a column`,
          "bend",
          t`Points along the middle of a curved column; makes a picture with the column laid straight, zones stay on the untouched photograph`,
        ),
        this.pictures.cards.small(t`Relief from the lights`, () => m.ask("relief"), "relief", {
          disabled: gone || Boolean(st.busy),
          title: t`Works out the surface from all photographs of this side under different lights: cuts dark, colour gone`,
        }),
      ),
    ]);
  }
  /** What is known of the photograph. @param {import("./board_states.js").About} a */
  about(a) {
    const { m } = this,
      st = m.st;
    const lamp = (/** @type {string} */ side, /** @type {string} */ height) =>
      m.ask("lamp", { side, height: height || "low" });
    return this.pictures.cards.folded("about", t`About this photograph`, [
      a.computed
        ? null
        : choice(t`Kind of picture`, a.kinds, a.evidence, (v) => m.ask("about", { name: "evidence", value: v }), {
            "data-key": "about-evidence",
          }),
      this.text("surface", t`Which side or surface`, a, { list: "pb-surfaces", size: "14" }),
      this.text("light", t`Light, in your words`, a, { size: "18" }),
      st.over_choices?.length
        ? choice(
            t`Shares its zones with`,
            [["", t`no other`], ...st.over_choices.map((p) => /** @type {[string, string]} */ ([p.id, p.title]))],
            st.over ?? "",
            (v) => m.ask("lay_over", { reference: v }),
            { "data-key": "over", title: t`Zones then hold in both photographs of the surface` },
          )
        : null,
      this.tick("mirrored", t`Mirrored: show left and right exchanged`, a.mirrored),
      this.tick("swapped", t`Negative: show dark and light exchanged`, a.swapped),
      a.computed
        ? null
        : choice(
            t`Where the lamp stood`,
            [
              ["", t`not known`],
              ...a.sides.map((s) => /** @type {[string, string]} */ ([s, t`at the ${places()[s] ?? s}`])),
            ],
            a.side,
            (v) => lamp(v, a.height),
            { "data-key": "about-lamp" },
          ),
      a.computed || !a.side
        ? null
        : choice(t`How high`, a.heights, a.height, (v) => lamp(a.side, v), { "data-key": "about-height" }),
      a.computed
        ? null
        : this.pictures.cards.small(t`Read it from a shiny ball …`, () => m.hand.setMode("sphere"), "about-sphere", {
            title: t`A shiny ball in the picture mirrors the lamp: click its two edges`,
          }),
    ]);
  }
  /** A fact in words. @param {"surface"|"light"} name @param {string} label @param {import("./board_states.js").About} a @param {object} more */
  text(name, label, a, more) {
    const kept = { value: a[name], class: "ra-input pb-text", "data-key": `about-${name}`, ...more };
    return field(label, (v) => this.m.ask("about", { name, value: v }), kept).box;
  }
  /** A fact that is so or not. @param {string} name @param {string} words @param {boolean} on */
  tick(name, words, on) {
    const box = h("input", {
      type: "checkbox",
      checked: on,
      "data-key": `about-${name}`,
      onchange: () => this.m.ask("about", { name, value: box.checked }),
    });
    return h("label", { class: "pb-tick-box" }, box, h("span", { text: words }));
  }
}
