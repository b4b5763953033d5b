// The sign at work: its cut and a reference form at equal size, what it may be and how sure, what survives of it.
import { button, choice, field, h, oneOf, refill } from "./kit.js";
import { Finder } from "./letter_finder.js";
import { panel } from "./panel_frame.js";
import { Entries } from "./sign_entries.js";
import { Pair } from "./sign_pair.js";
import { inLanguage, t } from "./texts.js";

const TYPING = () =>
  t`Japanese input works, or sounds such as ka; several letters become several candidates; Enter on the empty field goes to the next sign; ? marks it as unread`;

/** The panel of the chosen sign; it holds the pair of pictures, what was entered, and the ways to find a letter. */
export class Sign {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").CharacterPanelAsks, import("./sign_states.js").CharacterPanelState>} */
    const frame = panel(given, "cp", t`The chosen sign`);
    this.root = frame.root;
    this.body = frame.body;
    this.ask = frame.ask;
    this.signal = given.signal;
    this.letters = frame.letters;
    this.st = /** @type {import("./sign_states.js").CharacterPanelState} */ ({});
    this.head = h("div", { class: "ra-bar cp-head" });
    this.pair = new Pair(this);
    this.entries = new Entries(this);
    this.typed = this.typing();
    this.finder = new Finder(this);
    this.note = field(t`What was seen (strokes, traces, doubts)`, (v) => this.ask("mark", { fields: { note: v } }), {
      lang: "ja",
      placeholder: t`note: what was seen`,
    });
    const none = t`Choose a mark on the photograph, or go to the first sign.`,
      looked = t`Not the untouched photograph; kept with what you enter.`;
    this.none = h("p", { class: "ra-hint cp-none-chosen", text: none });
    this.looked = h("small", { class: "cp-looked", hidden: true, text: looked });
    this.main = h(
      "div",
      { class: "cp-main" },
      h("div", { class: "cp-top" }, this.pair.box, this.entries.list),
      this.finder.box,
      h("div", { class: "cp-bottom" }, this.entries.state, this.note.box),
    );
    this.body.append(this.head, this.none, this.main);
    this.root.querySelector(".ra-foot")?.append(this.looked);
    this.root.addEventListener("keydown", (e) => this.key(e), { signal: this.signal });
    frame.show((now) => this.take(now));
    this.crops(given.model);
  }
  /** Crops come beside the state. @param {import("./panel_frame.js").Model} model */
  crops(model) {
    const crop = () => this.pair.show(model.get("crop"));
    model.on("change:crop", crop);
    crop();
    this.signal.addEventListener("abort", () => {
      this.pair.show(undefined);
      model.off("change:crop", crop);
    });
  }
  /** The field that a sign is typed into: Enter on the empty one goes on, so that a whole column is typed without the mouse. */
  typing() {
    const typed = field(t`Type the sign`, () => {}, {
      lang: "ja",
      class: "ra-input cp-type",
      placeholder: t`type it`,
      title: TYPING(),
    });
    typed.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key !== "Enter" || e.isComposing || e.keyCode === 229 || typed.composing()) return;
      e.preventDefault();
      const text = typed.input.value.trim();
      if (text) {
        this.ask("type", { text, confidence: this.st.sure });
        typed.clear();
      } else this.ask("step", { by: 1 });
    });
    return typed;
  }
  /** The sheet for tracing is laid out. */
  trace() {
    this.ask("trace").then(() => this.root.closest(".ra-bench")?.classList.add("ra-traced"));
  }
  /** A new state of the sign, or another sign. @param {import("./sign_states.js").CharacterPanelState} state */
  take(state) {
    if (!state?.words) return;
    const other = state.character !== this.st.character;
    this.st = state;
    this.none.hidden = Boolean(state.character);
    this.main.hidden = !state.character;
    this.paintHead();
    this.looked.hidden = !state.look?.words;
    if (!state.character) return;
    if (other) this.pair.point(null);
    else this.pair.rest();
    this.entries.paintList();
    this.finder.paint();
    this.entries.paintState();
    this.note.put(state.note);
    if (other) {
      this.note.clear();
      this.note.input.value = state.note;
      this.finder.other();
    }
    this.root.dataset.shape = state.shape.state;
    this.root.dataset.character = state.character;
    this.letters();
  }
  paintHead() {
    const { st, ask } = this;
    refill(
      this.head,
      button("◂", () => ask("step", { by: -1 }), {
        "data-key": "prev",
        disabled: !st.total,
        class: "ra-button ra-small",
        "aria-label": t`Earlier sign`,
        title: t`Earlier sign (Page Up)`,
      }),
      h("strong", { class: "cp-which", text: st.character ? t`Sign ${st.n} of ${st.total}` : t`No sign chosen` }),
      button("▸", () => ask("step", { by: 1 }), {
        "data-key": "next",
        disabled: !st.total,
        class: "ra-button ra-small",
        "aria-label": t`Next sign`,
        title: t`Next sign (Page Down)`,
      }),
      st.inside?.length > 1
        ? h(
            "span",
            { class: "ra-group" },
            h("span", { class: "ra-hint", text: t`in this zone` }),
            oneOf(t`Sign in this zone`, st.inside, st.character, (v) => ask("choose", { character: v }), "inside"),
          )
        : null,
      h("span", { class: "ra-gap" }),
      this.looking(),
    );
  }
  /** Which photograph the crop is taken from, and how it is seen. */
  looking() {
    const { ask } = this,
      k = this.st.look;
    return k?.photos.length
      ? [
          k.board
            ? button(t`As on the mat`, () => ask("look", { photo: k.board }), {
                class: "ra-button ra-small",
                "data-key": "look-board",
                title: t`Take the crop from the photograph that lies on the mat`,
              })
            : null,
          k.photos.length > 1
            ? choice(t`Crop taken from`, k.photos, k.photo, (v) => ask("look", { photo: v }), {
                "data-key": "look-photo",
              })
            : null,
          choice(t`Seen through`, k.views, k.view, (v) => ask("look", { view: v }), { "data-key": "look-view" }),
          button("−", () => ask("around", { by: -1 }), {
            class: "ra-button ra-small",
            "data-key": "closer",
            "aria-label": t`Closer`,
            title: t`Show less around the sign`,
          }),
          button("+", () => ask("around", { by: 1 }), {
            class: "ra-button ra-small",
            "data-key": "wider",
            "aria-label": t`Wider`,
            title: t`Show more around the sign`,
          }),
        ]
      : null;
  }
  /** Keys of the whole panel: the next sign, a proposal by its number. @param {KeyboardEvent} e */
  key(e) {
    if (e.isComposing || e.ctrlKey || e.metaKey || e.altKey) return;
    const at = /** @type {HTMLElement} */ (e.target),
      typing = at.closest("input:not([type=range]),textarea,select"),
      free = at === this.typed.input && !this.typed.input.value && !this.typed.composing();
    if (e.key === "PageDown" || e.key === "PageUp") {
      e.preventDefault();
      this.ask("step", { by: e.key === "PageDown" ? 1 : -1 });
    } else if (/^[1-9]$/.test(e.key) && (!typing || free) && this.finder.pick(+e.key)) e.preventDefault();
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Sign(given);
}

export default { render: inLanguage(render) };
