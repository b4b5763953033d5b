// The cards beside the mat: photographs with their surfaces and lamps, tools, marks and what they are, questions, scale.
import { button, h, refill } from "./kit.js";
import { LengthCards } from "./length_cards.js";
import { MarkCards } from "./mark_cards.js";
import { PhotoCards } from "./photo_cards.js";
import { t } from "./texts.js";

/** The cards beside the mat. */
export class Cards {
  /** @param {import("./photo_board.js").Board} m the board @param {HTMLElement} box */
  constructor(m, box) {
    this.m = m;
    this.lengths = new LengthCards(this);
    this.signs = new MarkCards(this);
    this.pictures = new PhotoCards(this);
    this.box = box;
    this.open = /** @type {Record<string, boolean>} */ ({});
    this.stale = false; // the field being typed in is never rebuilt
    this.top = 0; // how far the cards are scrolled, and the list of photographs in its own box
    this.far = 0;
    const scrolled = (/** @type {Event} */ e) => {
      const at = /** @type {HTMLElement} */ (e.target);
      if (at === box) this.top = box.scrollTop;
      else if (at.matches(".pb-photos")) this.far = at.scrollTop;
    };
    box.addEventListener("scroll", scrolled, { signal: m.signal, passive: true, capture: true });
    box.addEventListener(
      "focusout",
      () => {
        if (this.stale)
          setTimeout(() => {
            if (this.stale) this.paint();
          }, 0);
      },
      { signal: m.signal },
    );
  }
  paint() {
    const at = /** @type {HTMLElement|null} */ (document.activeElement);
    if (
      at &&
      this.box.contains(at) &&
      at.matches("input:not([type=checkbox])") &&
      (this.m.mode === "scale" || at.classList.contains("pb-text") || at.matches(":active"))
    ) {
      this.stale = true;
      return;
    }
    this.stale = false;
    refill(this.box, this.cards());
    if (this.top) this.box.scrollTop = this.top; // else untouched: either way of asking lays the page out at once
    const list = this.far && this.box.querySelector(".pb-photos");
    if (list) list.scrollTop = this.far;
  }
  small(/** @type {string} */ word, /** @type {() => void} */ act, /** @type {string} */ key, more = {}) {
    return button(word, act, { class: "ra-button ra-small", "data-key": key, ...more });
  }
  /** A card. @param {string} title @param {import("./kit.js").Kid[]} kids @param {import("./kit.js").Attrs} [more] */
  card(title, kids, more = {}) {
    return h("div", { class: "pb-card", ...more }, title ? h("h3", { text: title }) : null, ...kids);
  }
  /** A card that folds; how it stands is kept by its key.
   * @param {string} key @param {string} title @param {import("./kit.js").Kid[]} inside */
  folded(key, title, inside) {
    const box = h(
      "details",
      {
        class: "pb-card",
        open: Boolean(this.open[key]),
        ontoggle: (/** @type {Event} */ e) => {
          if (e.target === box) this.open[key] = box.open; // not of a card folded inside it
        },
      },
      h("summary", { text: title, "data-key": `fold-${key}` }),
      inside,
    );
    return box;
  }
  cards() {
    const { m } = this,
      st = m.st,
      kids = /** @type {import("./kit.js").Kid[]} */ ([]);
    if (!m.editing)
      return [this.card("", [h("p", { class: "ra-hint", text: t`Opened for reading: nothing can be changed here.` })])];
    if (st.question) kids.push(this.question(st.question));
    if (st.ruler) kids.push(this.lengths.ruler(st.ruler));
    if (m.mode === "scale") kids.push(this.lengths.scaleForm());
    if (m.mode === "bend") kids.push(this.lengths.bendForm());
    if (m.mode === "sphere")
      kids.push(
        this.card(t`Lamp read from a ball`, [
          h("p", { text: t`A shiny ball beside the piece mirrors the lamp. Click the ball's left and right edge.` }),
          this.small(t`Cancel`, () => m.hand.setMode("hand"), "sphere-no"),
        ]),
      );
    if (m.mode === "square")
      kids.push(
        this.card(t`Square up`, [
          h("p", { class: "ra-hint", text: t`Four corners, clockwise from the top left.` }),
          this.small(t`Cancel`, () => m.hand.setMode("hand"), "square-no"),
        ]),
      );
    return [...kids, ...(st.stage === "marks" ? this.signs.marking() : this.pictures.photographing())];
  }

  // --- questions and offers -------------------------------------------------------------------------
  /** What is asked before signs would be counted twice. @param {import("./board_states.js").Question} q */
  question(q) {
    const { m } = this;
    return this.card(
      t`Which signs are these?`,
      [
        h("p", { text: q.text }),
        ...q.choices.map(([where, words]) =>
          this.small(words, () => m.ask("propose", { region: q.region, where }), `ask-${where}`),
        ),
        this.small(t`Draw nothing`, () => m.ask("leave_question"), "ask-no"),
      ],
      { class: "pb-card pb-ask", role: "group", "aria-label": t`A question before zones are proposed` },
    );
  }
}
