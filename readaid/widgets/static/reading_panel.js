// The reading line: what stands there now, its share and its next rival, and keeping it in place; more of it on asking.
import { button, h, ja, refill } from "./kit.js";
import { panel } from "./panel_frame.js";
import { Drawer } from "./reading_drawer.js";
import { KeepForm } from "./reading_keep.js";
import { parts } from "./reading_words.js";
import { inLanguage, t } from "./texts.js";

/** The panel of the reading; it holds the drawer with more of it, and the form that writes one down. */
export class Reading {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").ReadingPanelAsks, import("./reading_states.js").ReadingPanelState>} */
    const frame = panel(given, "rp", t`Reading`);
    this.root = frame.root;
    this.body = frame.body;
    this.fault = frame.fault;
    this.say = frame.say;
    this.ask = frame.ask;
    this.letters = frame.letters;
    /** @type {Partial<import("./reading_states.js").ReadingPanelState>} */ const none = { readings: [], signs: 0 };
    this.st = /** @type {import("./reading_states.js").ReadingPanelState} */ (none);
    this.keeping = -1; // which reading is being written down; -2: the reader's own words, -1: none
    this.line = h("div", { class: "rp-line-now" });
    this.drawer = new Drawer(this);
    this.form = new KeepForm(this);
    this.body.append(this.drawer.box, this.line);
    const leave = (/** @type {KeyboardEvent} */ e) => {
      if (e.key !== "Escape" || !this.drawer.open || e.isComposing) return;
      this.drawer.toggle();
      /** @type {HTMLElement|null} */ (this.line.querySelector("[data-key=more]"))?.focus();
    };
    this.root.addEventListener("keydown", leave, { signal: given.signal });
    frame.show((now) => this.take(now));
  }
  /** Another state of the search. @param {import("./reading_states.js").ReadingPanelState} now */
  take(now) {
    if (!now?.forms) return;
    const moved = now.turn !== this.st.turn;
    this.st = now;
    if (moved && this.keeping >= 0) {
      this.keeping = -1;
      this.say(t`The readings changed; choose again which one to keep.`);
    }
    this.root.dataset.turn = String(now.turn);
    this.root.dataset.busy = String(Boolean(now.busy));
    this.root.dataset.shape = now.shape.on ? "on" : "off";
    this.paint();
    this.letters();
  }
  /** Begin to write a reading down. @param {number} i */
  keep(i) {
    this.keeping = i;
    this.repaint();
    /** @type {HTMLElement|null} */ (this.line.querySelector("[data-key^=ks-][tabindex='0']"))?.focus(); // the one that is chosen: Tab leads on from it
  }
  /** Nothing is written down any more. */
  kept() {
    this.keeping = -1;
    this.paint();
  }
  repaint() {
    if (this.keeping === -1) this.paintLine();
    else refill(this.line, this.form.box(this.keeping));
  }
  paint() {
    if (this.keeping === -1 || !this.line.querySelector(".rp-keep")) this.repaint();
    this.drawer.paint();
  }
  /** The best reading in one line, dots where nothing was said. */
  paintLine() {
    const { st } = this,
      best = st.readings[0];
    if (this.keeping >= 0) return;
    if (st.parse) refill(this.line, this.parsed(st.parse), this.more());
    else if (best) refill(this.line, this.now(best), this.facts(best, st.readings[1]), this.more());
    else refill(this.line, this.silence(), this.more());
  }
  /** A signature taken apart, or what is lacking for it. @param {import("./reading_states.js").SignatureLine} parse */
  parsed(parse) {
    const part = (/** @type {[string, string]} */ [text, kind]) =>
      h("span", { class: "rp-part" }, ja(text, "ra-ja"), h("small", { text: kind }));
    return h(
      "div",
      { class: "rp-now" },
      h("div", { class: "rp-text rp-parse", "aria-label": t`The signature's parts` }, parse.parts.map(part)),
      h("div", { class: "rp-roman", text: parse.words }),
    );
  }
  /** Letting go what is being looked for. @param {string} key */
  stop(key) {
    return button(t`Stop`, () => this.ask("stop"), { class: "ra-button ra-small", "data-key": key });
  }
  /** Nothing read: dots, and why. */
  silence() {
    const { st } = this;
    return h(
      "div",
      { class: "rp-now" },
      h("div", { class: "rp-text rp-silent", "aria-hidden": "true", text: st.dots || "·" }), // why stands below, in words
      h("div", { class: "rp-roman" }, st.busy ? [t`Searching …`, " ", this.stop("stop-line")] : st.words),
    );
  }
  /** A reading: kanji and kana, romanised, its metre. @param {import("./reading_states.js").ReadingRow} best */
  now(best) {
    const off = best.lines.some((l) => l.surplus),
      spaced = best.lines.map((l, i) => [i ? "　" : null, parts(l.parts)]);
    const metre = best.lines.map((l) => l.morae).join("-");
    const text = best.text
      ? [h("span", { class: "rp-kanji", text: best.text }), h("span", { class: "rp-kana" }, spaced)]
      : spaced;
    return h(
      "div",
      { class: `rp-now ${best.machine ? "rp-machine" : ""}` },
      h("div", { class: "rp-text", lang: "ja" }, text),
      h(
        "div",
        { class: "rp-roman" },
        h("span", { text: best.romaji }),
        h("span", { class: `rp-metre ${off ? "rp-off" : ""}`, text: metre }),
      ),
    );
  }
  /** Its share, the next reading, how much of it is not the reader's. @param {import("./reading_states.js").ReadingRow} best @param {import("./reading_states.js").ReadingRow|undefined} rival */
  facts(best, rival) {
    const { st } = this;
    return h(
      "div",
      { class: "rp-facts" },
      h("div", {}, st.busy ? [t`Searching …`, " ", this.stop("stop-line")] : best.share),
      rival
        ? h(
            "div",
            { class: "rp-rival", title: t`the next reading` },
            t`then `,
            ja(rival.differs || rival.short, "ra-ja"),
            ` ${rival.percent}`,
          )
        : null,
      best.machine
        ? h("div", { class: "rp-warn", text: t`${best.others} of ${st.signs} signs not the reader's` })
        : null,
    );
  }
  more() {
    const { st } = this,
      open = this.drawer.open;
    return h(
      "div",
      { class: "rp-buttons" },
      st.readings.length && !st.parse
        ? button(st.readings[0].machine ? t`Keep as a proposal …` : t`Keep …`, () => this.keep(0), {
            class: `ra-button ${st.readings[0].machine ? "" : "ra-main"}`,
            "data-key": "keep-0",
          })
        : null,
      button(open ? t`Less ▾` : t`More ▴`, () => this.drawer.toggle(), {
        class: "ra-button",
        "data-key": "more",
        "aria-expanded": String(open),
        title: t`All readings, the chosen sign in its place, your own words, known verses, attempts`,
      }),
    );
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Reading(given);
}

export default { render: inLanguage(render) };
