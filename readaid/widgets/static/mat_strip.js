// The strip at the foot of the mat: two at once, loupe, turn, views, brightness, zoom.
import { choice, h, refill } from "./kit.js";
import { t } from "./texts.js";

/** What goes first where the strip is narrow: each has a key of its own, or is chosen once and kept. */
const SPARE = ["two-line", "two-beside", "turn", "mat"];

/** The strip at the foot of the mat. */
export class Strip {
  /** @param {import("./mat_light.js").Light} light */
  constructor(light) {
    this.light = light;
    this.m = light.m;
    this.strip = h("div", { class: "pb-strip", role: "toolbar", "aria-label": t`Light` });
    this.looks = h("div", { class: "pb-looks" });
    this.sliding = /** @type {{name:string, value:number, told:number}|null} */ (null);
  }

  // --- the strip at the foot of the mat ---------------------------------------------------------
  paintStrip() {
    const { m } = this,
      view = m.view,
      tone = this.light.tone.now();
    if (this.strip.contains(document.activeElement) && document.activeElement?.matches("input:active")) return; // the hand holds the slider
    refill(
      this.strip,
      this.pair(t`Line`, "line", t`This photograph and the one before, parted by a line (/)`),
      this.pair(t`Beside`, "beside", t`This photograph and the one before, beside each other (\\)`),
      this.small(t`Loupe`, () => this.light.glassOn(), "loupe", {
        "aria-pressed": String(this.light.glass),
        title: t`A loupe with local contrast under the pointer (G)`,
      }),
      this.small(t`Turn`, () => this.turn(), "turn", { title: t`Turn the photograph by a quarter (T)` }),
      this.small(t`Marks`, () => m.marks.toggle(), "marks", {
        title: t`Thin marks, with numbers, or none (M); now: ${m.marks.word()}`,
        "aria-pressed": String(m.marks.shown !== "none"),
      }),
      this.small(t`Mat`, () => m.ask("mat"), "mat", { title: t`A light or a dark mat` }),
      this.views(),
      this.toneSlider(t`Brightness`, "bright"),
      this.toneSlider(t`Midtones`, "gamma"),
      tone.lifted
        ? h("span", {
            class: "pb-lifted",
            title: t`The photograph is dark; it is lifted on the screen, the file is as it was`,
            text: t`lifted`,
          })
        : null,
      h("span", { class: "ra-gap" }),
      this.small("−", () => view.middle(0.8), "out", { "aria-label": t`Zoom out` }),
      this.light.zoom,
      this.small("+", () => view.middle(1.25), "in", { "aria-label": t`Zoom in` }),
      this.small(t`Whole`, () => view.fit(), "whole", { title: t`Show the whole photograph (0)` }),
      this.small("1:1", () => view.middle(1 / view.k), "full", {
        title: t`One pixel of the photo for one of the screen`,
        "aria-label": t`Full size`,
      }),
    );
  }
  /** A small button of the strip. @param {string} word @param {() => void} act @param {string} key @param {object} [more] */
  small(word, act, key, more = {}) {
    const spare = SPARE.includes(key) ? "pb-spare" : "";
    return h(
      "button",
      { type: "button", class: `pb-mini-button ${spare}`, "data-key": key, onclick: act, ...more },
      word,
    );
  }
  /** Two photographs at once. @param {string} word @param {string} how @param {string} title */
  pair(word, how, title) {
    const { view, st } = this.m,
      on = view.how === how;
    const more = { "aria-pressed": String(on), title, disabled: st.companions.length < 2 };
    return this.small(word, () => this.light.two(on ? "one" : how), `two-${how}`, more);
  }
  turn() {
    this.m.view.quarter();
    this.light.paint();
  }
  /** Brightness or midtones; a double click takes it back. @param {string} label @param {"bright"|"gamma"} name */
  toneSlider(label, name) {
    const { tone } = this.light;
    const range = h("input", {
      type: "range",
      class: "ra-range",
      min: "0.4",
      max: "2.6",
      step: "0.05",
      "aria-label": label,
      "data-key": `tone-${name}`,
      title: t`${label}, on the screen only`,
      oninput: () => tone.set({ [name]: +range.value, lifted: false }),
      ondblclick: () => {
        tone.set({ [name]: 1 });
        this.paintStrip();
      },
    });
    range.value = String(tone.now()[name]);
    return h("label", { class: "pb-tone" }, h("span", { text: label }), range);
  }
  views() {
    const { m } = this,
      st = m.st,
      now = st.views?.find((v) => v.name === st.view);
    return st.views?.length
      ? choice(
          t`View`,
          st.views.map((v) => [v.name, v.label]),
          st.view,
          (v) => m.ask("view", { name: v }),
          { "data-key": "view", title: now?.help || t`Ways to look; the file is as it was` },
        )
      : null;
  }
  /** The sliders of a view, above the strip. */
  paintLooks() {
    const { m } = this,
      st = m.st,
      kids = /** @type {HTMLElement[]} */ ([]);
    if (this.looks.contains(document.activeElement) && document.activeElement?.matches("input:active")) return; // the hand holds the slider
    const now = st.views?.find((v) => v.name === st.view);
    for (const sl of now?.sliders ?? []) {
      const out = h("output", { text: sl.words ?? String(sl.value) });
      const range = h("input", {
        type: "range",
        class: "ra-range",
        min: String(sl.min),
        max: String(sl.max),
        step: String(sl.step),
        "aria-label": sl.label,
        "data-key": `slide-${sl.name}`,
        oninput: () => {
          out.textContent = String(Number((+range.value).toPrecision(3)));
          this.slide(sl.name, +range.value);
        },
        onchange: () => {
          this.sliding = null;
          m.ask("slide", { name: sl.name, value: +range.value });
        },
      });
      range.value = String(sl.value);
      kids.push(h("label", { class: "ra-field" }, h("span", { class: "ra-label" }, `${sl.label} `, out), range));
    }
    refill(this.looks, kids);
  }
  /** While a slider moves the picture follows: one look at a time, always the newest value. */
  slide(/** @type {string} */ name, /** @type {number} */ value) {
    if (this.sliding) {
      this.sliding.name = name;
      this.sliding.value = value;
      return;
    }
    this.sliding = { name, value, told: NaN };
    const go = () => {
      const now = this.sliding;
      if (!now || now.value === now.told) {
        this.sliding = null;
        return;
      }
      now.told = now.value;
      this.m.ask("slide", { name: now.name, value: now.value, done: false }).then(() => {
        const since = performance.now(),
          next = () => {
            if (this.m.view.asked.size && performance.now() - since < 1500) setTimeout(next, 30);
            else go();
          };
        setTimeout(next, 60);
      });
    };
    go();
  }
}
