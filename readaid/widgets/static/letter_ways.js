// Ways to a letter: parent kanji, part, look-alikes, shape. Each gives what is asked with and what was found.
import { button, choice, h, ja, oneOf } from "./kit.js";
import { t } from "./texts.js";

/** @returns {[string, string][]} */
const PLACES = () => [
  ["", t`anywhere`],
  ["left", t`left (hen)`],
  ["right", t`right (tsukuri)`],
  ["top", t`top (kanmuri)`],
  ["bottom", t`bottom (ashi)`],
  ["over the left", t`over the left (tare)`],
  ["under the right", t`under the right (nyō)`],
  ["around", t`around (kamae)`],
  ["inside", t`inside`],
  ["bottom left", t`bottom left`],
  ["bottom right", t`bottom right`],
];

/** Ways to a letter. */
export class Ways {
  /** @param {import("./letter_finder.js").Finder} finder */
  constructor(finder) {
    this.finder = finder;
    this.part = "";
    this.partPlace = "";
    this.alike = "";
    this.parent = "";
  }
  /** @returns {import("./letter_finder.js").Asked} */
  parent_() {
    const { p } = this.finder,
      go = (/** @type {string} */ v) => {
        this.parent = v;
        p.ask("by_parent", { parent: v });
      };
    const f = this.finder.asker(t`Parent kanji, old or new form (加, 可, 閑 …)`, this.parent, go, { lang: "ja" }),
      found = p.st.found?.by === "parent" ? p.st.found : null;
    return [
      [
        h(
          "div",
          { class: "cp-line" },
          f.box,
          button(t`Find`, () => this.enter(f, go), { class: "ra-button", "data-key": "parent-go" }),
        ),
      ],
      found ? [this.finder.hint(found.words), this.finder.cards(found.rows, t`Letters from this kanji`)] : [],
    ];
  }
  /** @returns {import("./letter_finder.js").Asked} */
  part_() {
    const { p } = this.finder,
      go = (/** @type {string} */ v) => {
        this.part = v;
        p.ask("by_part", { part: v, place: this.partPlace });
      };
    const f = this.finder.asker(t`Part that can be seen (氵, 木, 寺, water …)`, this.part, go),
      found = p.st.found?.by === "part" ? p.st.found : null;
    return [
      [
        h(
          "div",
          { class: "cp-line" },
          f.box,
          choice(
            t`Where it stands`,
            PLACES(),
            this.partPlace,
            (v) => {
              this.partPlace = v;
              if (f.input.value.trim()) go(f.input.value.trim());
            },
            { "data-key": "part-place" },
          ),
          button(t`Find`, () => this.enter(f, go), { class: "ra-button", "data-key": "part-go" }),
        ),
      ],
      found ? [this.finder.hint(found.words), this.finder.cards(found.rows, t`Kanji with this part`)] : [],
    ];
  }
  /** @returns {import("./letter_finder.js").Asked} */
  alike_() {
    const { p } = this.finder,
      st = p.st,
      go = (/** @type {string} */ v) => {
        this.alike = v;
        p.ask("alike", { character: v });
      };
    const f = this.finder.asker(t`Look-alikes of (one kana, letter or kanji)`, this.alike, go, {
      lang: "ja",
      size: "6",
    });
    const others = st.candidates.length > 1 ? this.entered(f.input, go) : null;
    const shown = [];
    if (st.found?.by === "alike") {
      const { of = "", forms = [], words, rows } = st.found;
      if (forms.length)
        shown.push(
          h(
            "div",
            { class: "cp-forms" },
            ja(of, "ra-ja cp-big"),
            ...this.finder.pictures(forms),
            h("small", { text: t`as fonts of brush hands draw it` }),
          ),
        );
      shown.push(this.finder.hint(words));
      if (rows.length) shown.push(this.finder.cards(rows, t`Taken for ${of}`));
    } else
      shown.push(
        this.finder.hint(
          t`Enter a candidate, or write a character here, to see what it is commonly confused with in cursive.`,
        ),
      );
    return [
      [
        h(
          "div",
          { class: "cp-line" },
          f.box,
          button(t`Show`, () => this.enter(f, go), { class: "ra-button", "data-key": "alike-go" }),
          others,
        ),
      ],
      shown,
    ];
  }
  /** @returns {import("./letter_finder.js").Asked} */
  shape_() {
    const { p } = this.finder,
      st = p.st,
      s = st.shape,
      best = st.candidates[0]?.character,
      shown = [];
    const kids = [
      h(
        "div",
        { class: "cp-line" },
        oneOf(
          t`Among`,
          [
            ["all", t`All letters`],
            ["kana", t`Kana only`],
            ["kanji", t`Kanji only`],
          ],
          s.among,
          (v) => p.ask("shape", { among: v }),
          "among",
        ),
        st.traced
          ? oneOf(
              t`Compare`,
              [
                ["", t`The crop`],
                ["1", t`The tracing`],
              ],
              s.tracing ? "1" : "",
              (v) => p.ask("shape", { tracing: Boolean(v) }),
              "traced",
            )
          : null,
        button(t`Look again`, () => p.ask("shape"), { "data-key": "again", class: "ra-button ra-small" }),
      ),
    ];
    shown.push(s.rows?.length ? this.finder.cards(s.rows, t`Letters of similar shape`) : null);
    shown.push(this.finder.hint(s.words));
    if (s.none && s.state === "ready") shown.push(this.finder.hint(s.none, "cp-none"));
    if (s.sounds?.length) shown.push(this.sounds(s.sounds));
    if (s.state !== "busy") shown.push(this.learn(s.tracing, best));
    if (st.own?.length) shown.push(this.owns(st.own));
    return [kids, shown];
  }
  /** What stands in a field is asked for, if anything does. @param {{input: HTMLInputElement}} f @param {(v: string) => void} go */
  enter(f, go) {
    const text = f.input.value.trim();
    if (text) go(text);
  }
  /** The sign's own candidates, to be asked for at once. @param {HTMLInputElement} input @param {(v: string) => void} go */
  entered(input, go) {
    const st = this.finder.p.st;
    return h(
      "span",
      { class: "ra-group" },
      st.candidates.map((c) =>
        button(
          "",
          () => {
            input.value = c.character;
            go(c.character);
          },
          {
            class: "ra-button cp-mark ra-ja",
            "data-key": `al-${c.character}`,
            "aria-label": t`Look-alikes of ${c.character}`,
            lang: "ja",
            text: c.character,
          },
        ),
      ),
    );
  }
  /** Sounds of similar shape: all letters of each together. @param {[string, string][]} sounds */
  sounds(sounds) {
    const { p } = this.finder;
    return h(
      "div",
      { class: "ra-group cp-sounds" },
      h("span", { class: "ra-label", text: t`Sounds, all letters of each together` }),
      sounds.map(([k, share]) =>
        h(
          "button",
          {
            type: "button",
            class: "ra-button ra-small",
            "data-key": `so-${k}`,
            "aria-label": t`${k}, ${share}: show its letters`,
            onclick: () => {
              this.finder.way = "sound";
              this.finder.sound = k;
              p.ask("by_sound", { sound: k });
            },
          },
          ja(k, ""),
          ` ${share}`,
        ),
      ),
    );
  }
  /** A crop can be remembered for the letter it was read as. @param {boolean} tracing @param {string|undefined} best */
  learn(tracing, best) {
    const { p } = this.finder;
    return h(
      "div",
      { class: "ra-group cp-learn" },
      button(
        best
          ? tracing
            ? t`Remember this tracing as ${best}`
            : t`Remember this crop as ${best}`
          : t`Remember this crop`,
        () => p.ask("learn"),
        { class: "ra-button ra-small ra-ja", "data-key": "learn", disabled: !best },
      ),
      h("small", { text: t`Crops you remember make the proposals better at once.` }),
    );
  }
  /** Crops that were remembered. @param {import("./sign_states.js").OwnCrop[]} own */
  owns(own) {
    const { p } = this.finder;
    return h(
      "div",
      { class: "cp-owns", role: "group", "aria-label": t`Your own crops` },
      h("span", { class: "ra-label", text: t`Your own crops` }),
      own.map((o) =>
        h(
          "span",
          { class: "cp-ownrow" },
          ja(o.character, "ra-ja"),
          h("small", { text: o.where }),
          button(t`Take back`, () => p.ask("forget", { example: o.id }), {
            class: "ra-button ra-small",
            "data-key": `fo-${o.id}`,
            "aria-label": t`Take back your example of ${o.character}, ${o.where}`,
          }),
        ),
      ),
    );
  }
}
