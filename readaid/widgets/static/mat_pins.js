// Notes pinned to the photograph: a small mark at each place, and the form that writes a new one.
import { button, field, h, s } from "./kit.js";
import { t } from "./texts.js";

/** Notes on the photograph. */
export class Pins {
  /** @param {import("./photo_board.js").Board} m the board */
  constructor(m) {
    this.m = m;
    this.private = false;
    this.box = s("g", { class: "pb-pins", role: "list", "aria-label": t`Notes on the photograph` });
    m.marks.pinned.append(this.box);
  }
  /** The pins as they are now, in pixels of the photograph; the ground carries them along. */
  paint() {
    const notes = this.m.st.notes ?? [];
    this.box.replaceChildren(
      ...notes.map((n, i) =>
        s(
          "g",
          { role: "listitem", "aria-label": n.text },
          s("title", { text: n.text }),
          s("text", { class: "pb-pin", x: n.x, y: n.y, text: String(i + 1) }),
        ),
      ),
    );
  }
  /** The notes of this photograph, and the form while a place is being chosen. */
  card() {
    const { m } = this,
      notes = m.st.notes ?? [];
    const rows = notes.map((n, i) =>
      h(
        "div",
        { class: "pb-note" },
        h("b", { text: String(i + 1) }),
        h("span", { text: n.text }),
        n.private ? h("small", { text: t`private` }) : null,
        button("×", () => m.ask("unpin", { note: n.id }), {
          class: "ra-button ra-small",
          "data-key": `unpin-${n.id}`,
          "aria-label": t`Take note ${i + 1} away`,
        }),
      ),
    );
    return m.cards.folded("notes", t`Notes on this photograph (${notes.length})`, [
      ...rows,
      m.mode === "note" ? this.form() : this.start(),
    ]);
  }
  start() {
    const { m } = this;
    return button(t`Pin a note …`, () => m.hand.setMode("note"), {
      class: "ra-button ra-small",
      "data-key": "pin",
      disabled: !m.st.photo,
      title: t`Click the place it is about, then write it`,
    });
  }
  form() {
    const { m } = this,
      point = m.hand.dots.points[0];
    const text = field(point ? t`Note` : t`First click the place on the photograph`, () => {}, {
      class: "ra-input pb-text",
      disabled: !point,
      lang: "ja",
      "data-key": "pin-text",
    });
    const keep = () => {
      m.ask("pin", { point, text: text.input.value, private: this.private });
      m.hand.setMode("hand");
    };
    text.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) keep();
    });
    const tick = h("input", {
      type: "checkbox",
      checked: this.private,
      "data-key": "pin-private",
      onchange: () => {
        this.private = tick.checked;
      },
    });
    return h(
      "div",
      {},
      text.box,
      h(
        "label",
        { class: "pb-tick-box" },
        tick,
        h("span", { text: t`Private: stays here when a copy or report leaves` }),
      ),
      h(
        "div",
        { class: "ra-group" },
        button(t`Keep`, keep, { class: "ra-button ra-main", disabled: !point, "data-key": "pin-keep" }),
        button(t`Cancel`, () => m.hand.setMode("hand"), { class: "ra-button ra-small", "data-key": "pin-no" }),
      ),
    );
  }
}
