// The tools beside the sheet for tracing.
import { button, choice, h, refill } from "./kit.js";
import { t } from "./texts.js";

/** The tools beside the sheet for tracing. */
export class Bar {
  /** @param {import("./tracing_panel.js").Tracing} tracing */
  constructor(tracing) {
    this.tracing = tracing;
  }
  paintBar() {
    const tool = (/** @type {string} */ word, /** @type {string} */ m) =>
      button(
        word,
        () => {
          this.tracing.mode = m;
          this.tracing.sheet.dataset.mode = m;
          this.paintBar();
        },
        { "aria-pressed": String(this.tracing.mode === m), "data-key": `m-${m}`, disabled: !this.tracing.st.zone },
      );
    const taking = !this.tracing.strokes.length && this.tracing.st.kept > 0;
    refill(
      this.tracing.bar,
      tool(t`Draw`, "draw"),
      tool(t`Rub out a stroke`, "erase"),
      tool(t`Join two strokes`, "join"),
      button(t`Undo`, () => this.tracing.undo(), { disabled: !this.tracing.before.length, "data-key": "undo" }),
      button(t`Redo`, () => this.tracing.redo(), { disabled: !this.tracing.after.length, "data-key": "redo" }),
      button(t`Propose by computer`, () => this.tracing.ask("propose"), {
        disabled: !this.tracing.st.zone || this.tracing.st.locked,
        "data-key": "prop",
      }),
      button(t`Clear`, () => this.tracing.step([]), {
        disabled: !this.tracing.strokes.length || this.tracing.st.locked,
        "data-key": "clear",
      }),
      button(t`Strokes alone`, () => this.alone(), {
        "aria-pressed": String(this.tracing.bare),
        disabled: !this.tracing.st.zone,
        "data-key": "bare",
      }),
      h("span", { class: "ra-gap" }),
      h("span", { class: "ra-hint", text: this.tracing.st.zone ? this.tracing.count() : "" }),
      button(taking ? t`Take the tracing away` : t`Keep the tracing`, () => this.keep(), {
        class: taking ? "ra-button ra-danger" : "ra-button ra-main",
        disabled: !(this.tracing.strokes.length || taking) || this.tracing.st.locked,
        "data-key": "keep",
      }),
    );
    this.paintLooks();
    this.tracing.words.textContent = this.tracing.st.words ?? "";
  }
  /** What the sheet shows under the strokes. */
  paintLooks() {
    const k = this.tracing.st.look;
    refill(
      this.tracing.looks,
      button(t`◂ Back to the sign`, () => this.tracing.back(), {
        class: "ra-button ra-small",
        "data-key": "trace-back",
        title: t`Back to the sign (Escape)`,
      }),
      k
        ? [
            k.photos.length > 1
              ? choice(t`Traced over`, k.photos, k.photo, (v) => this.tracing.ask("look", { photo: v }), {
                  "data-key": "np-photo",
                })
              : null,
            choice(t`Seen through`, k.views, k.view, (v) => this.tracing.ask("look", { view: v }), {
              "data-key": "np-view",
            }),
          ]
        : [],
    );
  }
  /** The strokes without the crop, and back. */
  alone() {
    this.tracing.bare = !this.tracing.bare;
    this.tracing.draw();
    this.paintBar();
  }
  /** Strokes are kept in the register. */
  keep() {
    const { strokes, mine } = this.tracing;
    this.tracing.ask("keep", { strokes, mine }).then(() => {
      this.tracing.mine = false;
    });
  }
}
