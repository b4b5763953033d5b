// Cards of the marks: tools, the chosen ones and what they are, corrections offered.
import { button, choice, h } from "./kit.js";
import { t } from "./texts.js";

/** Cards of the marks. */
export class MarkCards {
  /** @param {import("./mat_cards.js").Cards} cards */
  constructor(cards) {
    this.cards = cards;
    this.m = cards.m;
  }

  // --- marks --------------------------------------------------------------------------------------
  marking() {
    const { m } = this,
      st = m.st,
      kids = [];
    const tool = (/** @type {string} */ word, /** @type {string} */ mode, /** @type {string} */ title) =>
      button(word, () => m.hand.setMode(mode), {
        class: "ra-button ra-small",
        "data-mode": mode,
        "data-key": `mode-${mode}`,
        "aria-pressed": String(m.mode === mode),
        title,
      });
    kids.push(
      this.cards.card("", [
        h(
          "div",
          { class: "ra-group", role: "toolbar", "aria-label": t`Marking tools` },
          tool(t`Look and change`, "hand", t`Move the photograph; choose, move and resize marks (H)`),
          tool(t`Draw zones`, "draw", t`Drag round a sign (D)`),
          tool(t`Lasso`, "lasso", t`Draw a line round several marks (O)`),
          this.cards.small(
            t`Propose zones`,
            () => {
              m.proposing = m.view.whole;
              m.ask("propose", { region: m.onScreen() });
            },
            "propose",
            {
              disabled: !st.photo || Boolean(st.busy) || Boolean(st.trouble),
              title: t`Let the computer look for columns and signs in what is on the screen; you mend the result`,
            },
          ),
        ),
        this.inscription(),
      ]),
    );
    kids.push(this.chosen());
    if (st.corrections?.length) kids.push(this.corrections(st.corrections));
    return kids;
  }
  /** The marks lie on another photograph of the piece. @param {{id: string, title: string}} other */
  elsewhere({ id, title }) {
    return this.cards.card("", [
      h("p", {
        class: "ra-hint",
        text: t`The marks of this writing lie on another photograph: ${title}. Laid over it, this one shows them too.`,
      }),
      h(
        "div",
        { class: "ra-group" },
        this.cards.small(t`Show`, () => this.m.light.put(id), "elsewhere", { "aria-label": t`Show ${title}` }),
      ),
    ]);
  }
  chosen() {
    const { m } = this,
      st = m.st,
      z = m.marks.chosen(), // none where what is chosen does not show on this photograph
      several = m.marks.several.size ? [...m.marks.several] : z ? [z.id] : [];
    const doubtful = st.zones.filter((o) => o.faint).length;
    const look = doubtful
      ? this.cards.small(t`Look at the next (${doubtful} doubtful)`, () => this.lookNext(), "look", {
          title: t`Proposed zones that are hardly sure, or cut through running writing (L)`,
        })
      : null;
    if (st.elsewhere) return this.elsewhere(st.elsewhere);
    if (!several.length)
      return this.cards.card("", [
        h("p", {
          class: "ra-hint",
          text: st.zones.length
            ? t`Choose a mark to change it; Shift and a click, or the lasso, chooses several. Tab and Page Down walk through them.`
            : st.photo
              ? t`No marks yet: let the computer propose zones, or draw round the first sign at the top of the right-hand column.`
              : t`Add a photograph to begin.`,
        }),
        look,
      ]);
    const named = m.marks.several.size
      ? t`${several.length} marks`
      : z?.home
        ? t`Zone ${z.label || "–"} (drawn on ${z.home})`
        : t`Zone ${z?.label || "–"}`;
    return this.cards.card(
      named,
      [
        ...(m.marks.several.size ? [] : this.single(z, look)),
        h(
          "div",
          { class: "ra-group pb-parted", role: "group", "aria-label": t`What they are` },
          h("span", { class: "ra-label", text: several.length > 1 ? t`These are` : t`This is` }),
          st.parted.map(([what, words]) =>
            this.cards.small(
              words,
              () => m.ask("allot", { zones: several, what }).then(() => m.let()),
              `allot-${what}`,
            ),
          ),
        ),
      ],
      { "aria-live": "off" },
    );
  }
  right() {
    const { m } = this,
      i = m.st.zones.findIndex((z) => z.id === m.st.selected);
    m.ask("right", { zone: m.st.selected }).then(() => this.lookNext(i));
  }
  /** The next proposed zone that wants a look, in reading order. */
  lookNext(from = this.m.st.zones.findIndex((z) => z.id === this.m.st.selected)) {
    const { m } = this,
      n = m.st.zones.length,
      next = [...Array(n).keys()].map((i) => m.st.zones[(from + 1 + i) % n]).find((z) => z.faint);
    if (!next) {
      m.say(t`No proposed zone waits to be looked at.`);
      return;
    }
    m.hand.select(next.id);
    m.view.showZone(next.id);
    m.say(t`Look at zone ${next.label}: ${next.sure}. Move it, take it away, or say that it is right (R).`);
    m.looked = true;
    m.marks.focus(next.id);
  }
  /** Other cuts of zones that are there. @param {import("./board_states.js").Correction[]} rows */
  corrections(rows) {
    const { m } = this;
    return this.cards.card(t`Corrections offered (${rows.length})`, [
      h("small", {
        text: t`Found again on zones that are there, but not alike; drawn in dashes. Nothing is changed unless you take it.`,
      }),
      ...rows.map((c) =>
        h(
          "div",
          { class: "pb-fix", role: "group", "aria-label": c.words },
          h("span", { text: c.words }),
          this.cards.small(
            t`Show`,
            () => {
              m.hand.select(c.zone);
              m.view.showZone(c.zone);
            },
            `fix-show-${c.n}`,
          ),
          this.cards.small(t`Use it`, () => m.ask("correct", { which: c.n }), `fix-${c.n}`),
          this.cards.small(t`Leave it`, () => m.ask("correct", { which: c.n, take: false }), `fix-no-${c.n}`),
        ),
      ),
      rows.length > 1 ? this.cards.small(t`Leave all`, () => m.ask("leave_corrections"), "fix-none") : null,
    ]);
  }
  /** Which inscription marks go to, and what it is. */
  inscription() {
    const { m } = this,
      st = m.st;
    return h(
      "div",
      { class: "pb-pair" },
      st.inscriptions?.length
        ? choice(
            t`Inscription`,
            [
              ...st.inscriptions.map((i) => /** @type {[string, string]} */ ([i.id, i.title])),
              ["+", t`New inscription …`],
            ],
            st.inscription,
            (v) => m.ask("inscription", { inscription: v }),
            { "data-key": "inscription" },
          )
        : null,
      st.photo
        ? choice(
            st.inscription ? t`What it is` : t`What you will mark`,
            st.kinds.map((i) => [i.id, i.title]),
            st.kind,
            (v) => m.ask("kind", { kind: v }),
            { "data-key": "kind", title: st.kind_words },
          )
        : null,
    );
  }
  /** What can be said of one mark. @param {import("./mat_marks.js").Zone|undefined} z @param {HTMLElement|null} look */
  single(z, look) {
    return [
      h(
        "div",
        { class: "ra-group" },
        z?.sure ? h("span", { class: z.faint ? "pb-sure pb-warn" : "pb-sure", text: z.sure }) : null,
        z?.sure
          ? this.cards.small(t`It is right`, () => this.right(), "right", {
              title: t`The proposed zone is right as it is (R)`,
            })
          : null,
        look,
      ),
      h(
        "div",
        { class: "ra-group" },
        this.act(t`Two signs joined here`, "join_two", t`This outline holds two signs written in one stroke`),
        this.act(t`One sign with the next zone`, "merge_next", t`The sign lies in this zone and the next`),
        this.act(t`Undo the joining`, "unjoin", t`Back to one sign for one zone`, !z?.joined),
        this.act(t`Delete the zone`, "delete_zone", t`Takes the zone away (Delete); can be undone`, false, "ra-danger"),
      ),
    ];
  }
  /** A button that changes the chosen mark.
   * @param {string} word @param {"join_two"|"merge_next"|"unjoin"|"delete_zone"} what @param {string} title @param {boolean} [off] @param {string} [cls] */
  act(word, what, title, off = false, cls = "") {
    const { m } = this;
    const go = () => {
      m.hand.finishNudge();
      m.ask(what, { zone: m.st.selected });
    };
    return button(word, go, { title, disabled: off, class: `ra-button ra-small ${cls}`, "data-key": what });
  }
}
