// Cards of lengths: the ruler that was found, a known length, a curved column.
import { button, field, h, oneOf } from "./kit.js";
import { t } from "./texts.js";

/** Cards of lengths. */
export class LengthCards {
  /** @param {import("./mat_cards.js").Cards} cards */
  constructor(cards) {
    this.cards = cards;
    this.m = cards.m;
  }
  /** A ruler that was found. @param {import("./board_states.js").RulerOffer} r */
  ruler(r) {
    const { m } = this;
    return this.cards.card(
      t`A ruler was found`,
      [
        h("p", { text: r.words }),
        h(
          "div",
          { class: "ra-group" },
          r.uses.map(([use, words]) =>
            this.cards.small(
              words,
              () => m.ask("use_ruler", { use }).then(() => m.hand.setMode("hand", true)),
              `ruler-${use}`,
            ),
          ),
          this.cards.small(t`It is no ruler`, () => m.ask("leave_ruler"), "ruler-no"),
        ),
      ],
      { class: "pb-card pb-ask", role: "group", "aria-label": t`A ruler was found` },
    );
  }
  scaleForm() {
    const { m } = this,
      st = m.st,
      done = m.hand.dots.points.length === 2,
      second = Boolean(st.scale);
    let which = second ? "check" : "scale";
    const mm = field(done ? t`Length in millimetres` : t`First click both ends on the photograph`, () => {}, {
      inputmode: "decimal",
      disabled: !done,
      size: "10",
    });
    const what = field(t`What is it? (ruler, width of the plate …)`, () => {}, { size: "22" });
    const put = () => {
      if (m.hand.dots.points.length === 2)
        m.ask("scale", { points: m.hand.dots.points, length: mm.input.value, what: what.input.value, which }).then(
          () => {
            if (m.st.scale) {
              m.hand.dots.points = [];
              m.hand.setMode("hand", true);
            }
          },
        );
    };
    mm.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Enter" && !e.isComposing) put();
    });
    const box = this.cards.card(second ? t`A second known length` : t`Known length`, []);
    if (second) box.append(this.use((v) => (which = v)));
    box.append(
      mm.box,
      what.box,
      h(
        "div",
        { class: "ra-group" },
        button(t`Keep`, put, { class: "ra-button ra-main", disabled: !done }),
        button(t`Cancel`, () => m.hand.setMode("hand")),
      ),
      st.ruler
        ? ""
        : this.cards.small(t`Look for a ruler in the picture`, () => m.ask("find_ruler"), "find-ruler", {
            title: t`A ruler with even marks is looked for; you say whether it is one`,
          }),
    );
    return box;
  }
  bendForm() {
    const { m } = this,
      st = m.st,
      n = m.hand.dots.points.length,
      mm = st.scale?.mm_per_pixel;
    const told = (/** @type {number} */ v) => (mm ? t`${v} pixels, ${(v * mm).toFixed(1)} mm` : t`${v} pixels`);
    const out = h("output", { text: told(m.hand.dots.band) });
    const range = h("input", {
      type: "range",
      class: "ra-range",
      min: "8",
      max: String(Math.max(40, Math.min(4000, 4 * (st.across || 100)))),
      step: "2",
      "aria-label": t`Width of the column`,
      "data-key": "band",
      oninput: () => {
        m.hand.dots.band = +range.value;
        m.marks.tips();
        out.textContent = told(+range.value);
      },
    });
    range.value = String(m.hand.dots.band);
    return this.cards.card(t`Straighten a curved column`, [
      h("p", {
        class: "ra-hint",
        text: n
          ? n > 1
            ? t`${n} points along the middle. The dashed lines show how much is taken.`
            : t`One point along the middle. The dashed lines show how much is taken.`
          : t`Click along the middle of the column, from its top to its bottom.`,
      }),
      h("label", { class: "ra-field" }, h("span", { class: "ra-label" }, t`Width taken: `, out), range),
      h(
        "div",
        { class: "ra-group" },
        button(t`Straighten`, () => m.hand.dots.endBend(), {
          class: "ra-button ra-main",
          disabled: n < 2,
          "data-key": "bend-do",
        }),
        this.cards.small(t`Take the last point back`, () => m.hand.dots.unmark(), "bend-back", { disabled: !n }),
        this.cards.small(t`Cancel`, () => m.hand.setMode("hand"), "bend-no"),
      ),
    ]);
  }
  /** What a second length is for. @param {(v: string) => void} told */
  use(told) {
    const box = h("div", {});
    const paint = (/** @type {string} */ now) => {
      const pick = (/** @type {string} */ v) => {
        told(v);
        paint(v);
      };
      const uses = /** @type {[string, string][]} */ ([
        ["check", t`Check the scale with it`],
        ["scale", t`New scale from it`],
      ]);
      box.replaceChildren(oneOf(t`Use`, uses, now, pick));
    };
    paint("check");
    return box;
  }
}
