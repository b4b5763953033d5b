// The chosen sign in its place: what its neighbours say, and what is held fast.
import { h, ja, oneOf, refill, table } from "./kit.js";
import { t } from "./texts.js";

/** The chosen sign in its place. */
export class SignPlace {
  /** @param {import("./reading_drawer.js").Drawer} drawer */
  constructor(drawer) {
    this.drawer = drawer;
  }
  paintOne() {
    const { st, ask } = this.drawer.p,
      c = st.one;
    if (!c) {
      refill(
        this.drawer.one,
        h("p", {
          class: "ra-hint",
          text: t`Choose a sign to see what its neighbours say, and to hold a part of the reading fast.`,
        }),
      );
      return;
    }
    const fields = (/** @type {import("./messages.js").SignSaid} */ f) => ask("hold", { character: c.id, fields: f });
    refill(
      this.drawer.one,
      h("strong", { text: t`Sign ${c.n}` }),
      c.shares.length ? this.shares(c.shares) : null,
      c.shape
        ? h("small", {
            text: t`From shape alone: nobody has judged this sign. Look at it, and enter in the sign's own panel what you find right.`,
          })
        : null,
      c.shares.some((s) => s.restored)
        ? h("small", {
            text: t`Dotted: not seen on the piece, supplied from the language. Never take it for what stands there.`,
          })
        : null,
      this.hold(
        t`Certainly this`,
        [["", t`leave open`], ...c.options.map((o) => /** @type {[string, string]} */ ([o, o]))],
        c.fixed,
        (v) => fields({ fixed: v }),
        "fix",
      ),
      this.hold(
        t`After this sign`,
        [
          ["no", t`not said`],
          ["yes", t`a word ends here`],
        ],
        c.ends ? "yes" : "no",
        (v) => fields({ word_ends: v === "yes" }),
        "ends",
      ),
      this.hold(
        t`Belongs to a name`,
        [
          ["", t`no|name`],
          ["place", t`of a place`],
          ["person", t`of a person`],
        ],
        c.name,
        (v) => fields({ name_of: v }),
        "name",
      ),
    );
  }

  /** Letters of the sign: what the reader said, what its neighbours say. @param {import("./reading_states.js").SignShare[]} shares */
  shares(shares) {
    const rows = shares.map((s) =>
      h(
        "tr",
        { class: s.restored ? "rp-restored" : "" },
        h("td", {}, ja(s.character || "–")),
        h("td", {}, ja(s.kana, "")),
        h("td", { text: s.mine ?? "–" }),
        h("td", { class: "rp-num", text: s.words }),
      ),
    );
    const made = table([t`Letter`, t`Read`, t`You said`, t`With its neighbours`], [], { class: "rp-shares" });
    made.tBodies[0].append(...rows);
    return made;
  }
  /** A part of the reading held fast. @param {string} label @param {[string,string][]} options @param {string} now
   * @param {(v: string) => void} pick @param {string} key */
  hold(label, options, now, pick, key) {
    return h(
      "div",
      { class: "rp-hold" },
      h("span", { class: "ra-label", text: label }),
      oneOf(label, options, now, pick, key),
    );
  }
}
