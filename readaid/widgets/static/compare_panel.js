// Two forms laid on each other: two colours, a slider, a blink, side by side; with what the likeness is made of.
import { Facts } from "./compare_facts.js";
import { Picture } from "./compare_picture.js";
import { button, choice, chosen, field, h, oneOf, refill } from "./kit.js";
import { Fold } from "./panel_fold.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";

/** The panel that lays two forms on each other. */
export class Compare {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    this.model = given.model;
    this.picture = new Picture(this);
    this.told = new Facts(this);
    this.signal = given.signal;
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").ComparePanelAsks, import("./school_states.js").ComparePanelState>} */
    const made = panel(given, "xp", t`Compare two forms`);
    this.fold = new Fold(made, "xp", "school");
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.on = made.on;
    this.st = /** @type {import("./school_states.js").ComparePanelState} */ ({});
    this.look = "colours";
    this.wipe = 0.5;
    this.rings = true;
    this.timer = 0;
    this.second = false;
    this.a = /** @type {ImageBitmap|null} */ (null);
    this.b = /** @type {ImageBitmap|null} */ (null);
    this.overlay = /** @type {ImageBitmap|null} */ (null);
    this.shelf = h("div", { class: "xp-shelf", role: "group", "aria-label": t`Forms to compare` });
    this.adding = h("div", {});
    this.canvas = h("canvas", { class: "xp-canvas", role: "img" });
    this.tools = h("div", { class: "ra-bar" });
    this.facts = h("div", { class: "xp-facts", tabindex: "-1" });
    this.lay();
    this.pictures = /** @type {Map<string, string>} */ (new Map());
    this.listen();
    this.show((now) => {
      if (!now?.specimens) return;
      this.st = now;
      this.fold.holds(t`Forms to compare`, now.specimens.length);
      this.paintShelf();
      this.paintAdding();
      this.paintTools();
      this.told.paintFacts();
      this.picture.draw();
      this.root.dataset.likeness = this.st.result?.likeness ?? "";
    });
    this.watch = new ResizeObserver(() => this.picture.draw());
    this.watch.observe(this.root);
    this.watch.observe(/** @type {Element} */ (this.canvas.parentElement));
    this.signal.addEventListener("abort", () => this.watch.disconnect());
  }
  paintShelf() {
    const asked = this.st.specimens.filter((s) => !this.pictures.has(s.id)).map((s) => s.id);
    if (asked.length) {
      for (const id of asked) this.pictures.set(id, "");
      this.ask("thumbnails", { ids: asked });
    }
    refill(
      this.shelf,
      this.st.specimens.map((s) => {
        const p = this.pictures.get(s.id);
        return h(
          "div",
          { class: `xp-form ${s.id === this.st.a ? "xp-a" : ""} ${s.id === this.st.b ? "xp-b" : ""}` },
          p ? h("img", { src: p, alt: t`Form: ${s.title}` }) : h("div", { class: "xp-blank" }),
          h("div", { class: "xp-title", text: s.title }),
          h("small", { text: s.words }),
          h(
            "div",
            { class: "ra-group" },
            button(t`First`, () => this.ask("pick", { which: "a", id: s.id }), {
              class: "ra-button ra-small",
              "aria-pressed": String(s.id === this.st.a),
              "data-key": `a-${s.id}`,
              "aria-label": t`${s.title} as the first form`,
            }),
            button(t`Second`, () => this.ask("pick", { which: "b", id: s.id }), {
              class: "ra-button ra-small",
              "aria-pressed": String(s.id === this.st.b),
              "data-key": `b-${s.id}`,
              "aria-label": t`${s.title} as the second form`,
            }),
          ),
        );
      }),
      this.st.specimens.length
        ? null
        : h("p", {
            class: "ra-hint",
            text: t`No forms yet. Draw a zone round the monogram on the first page, then add it here.`,
          }),
    );
  }
  paintAdding() {
    if (
      this.adding.contains(document.activeElement) &&
      /** @type {HTMLElement} */ (document.activeElement).matches("input")
    )
      return;
    if (!this.st.zones.length) return refill(this.adding);
    const zone = choice(t`Add the form in zone`, this.st.zones, this.st.zones[this.st.zones.length - 1][0], () => {});
    const owner = choice(t`Said to be of`, [["", t`not known`], ...this.st.people], "", () => {});
    const kind = choice(t`Kind (old classification)`, this.st.kinds, "unclassified", () => {});
    const yr = field(t`Year, if known`, () => {}, { size: "7", inputmode: "numeric" });
    refill(
      this.adding,
      h(
        "details",
        { class: "ra-fold" },
        h("summary", { text: t`Add a form from a zone` }),
        h(
          "div",
          { class: "ra-group xp-add" },
          zone,
          owner,
          kind,
          yr.box,
          button(
            t`Add the form`,
            () =>
              this.ask("add", { zone: chosen(zone), person: chosen(owner), kind: chosen(kind), year: yr.input.value }),
            { class: "ra-button ra-main" },
          ),
        ),
      ),
    );
  }
  paintTools() {
    const slider = h("input", {
      type: "range",
      class: "ra-range xp-wipe",
      min: "0",
      max: "1",
      step: "0.01",
      "aria-label": t`How much of the second form is shown`,
      oninput: () => {
        this.wipe = +slider.value;
        this.picture.draw();
      },
    });
    slider.value = String(this.wipe);
    refill(
      this.tools,
      oneOf(
        t`How to look`,
        [
          ["colours", t`Two colours`],
          ["wipe", t`Slider`],
          ["blink", t`Blink`],
          ["beside", t`Side by side`],
        ],
        this.look,
        (v) => {
          this.look = v;
          this.paintTools();
          this.picture.draw();
        },
        "look",
      ),
      this.look === "wipe" ? slider : null,
      h("span", { class: "ra-gap" }),
      choice(
        t`Turn the second form`,
        [
          ["as it stands", t`as it stands`],
          ["mirrored", t`mirrored`],
          ["upside down", t`upside down`],
        ],
        this.st.turn,
        (v) => this.ask("turn", { turn: v }),
        { "data-key": "turn" },
      ),
      this.st.traced.map((x) =>
        button(t`${x.words} as traced`, () => this.ask("traced", { which: x.side, on: !x.on }), {
          "aria-pressed": String(x.on),
          "data-key": `tr-${x.side}`,
          title: t`Compare the strokes you traced instead of the photograph`,
        }),
      ),
    );
    clearInterval(this.timer);
    if (this.look === "blink")
      this.timer = window.setInterval(() => {
        this.second = !this.second;
        this.picture.draw();
      }, 900); // slower than three flashes a second, for those whom flicker harms
  }
  /** The elements, in their order. */
  lay() {
    this.body.append(
      h("p", { class: "ra-hint", text: t`Choose a first and a second form.` }),
      this.shelf,
      this.adding,
      this.tools,
      h("div", { class: "xp-split" }, h("div", { class: "xp-left" }, this.canvas), this.facts),
      h(
        "p",
        { class: "ra-caution" },
        t`A likeness is evidence of form, not of who made it. Forgers copy the form, pupils kept it, and a near-perfect overlay may mean a copy. Put the question of authorship to a recognised appraisal body.`,
      ),
    );
  }
  /** Pictures come from Python. */
  listen() {
    this.on("thumbnail", (m, buffers) => {
      this.pictures.set(m.id, URL.createObjectURL(new Blob([buffers[0]], { type: "image/jpeg" })));
      this.paintShelf();
    });
    this.on("forms", async (m, buffers) => {
      const come = await Promise.all(buffers.map((x) => createImageBitmap(new Blob([x]))));
      [this.a, this.b, this.overlay].forEach((x) => x?.close());
      [this.a, this.b, this.overlay] = come;
      this.root.dataset.forms = m.pair;
      this.picture.draw();
    });
    this.ask("forms");
    this.signal.addEventListener("abort", () => {
      clearInterval(this.timer);
      this.pictures.forEach((u) => URL.revokeObjectURL(u));
    });
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Compare(given);
}

export default { render: inLanguage(render) };
