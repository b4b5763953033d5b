// Cards of the photographs: which there are, their surfaces and lamps, tools, what is lacking.
import { AboutCard } from "./about_card.js";
import { button, field, h } from "./kit.js";
import { places, t } from "./texts.js";
import { Upload } from "./upload.js";

const RING = ["top left", "top", "top right", "left", "", "right", "bottom left", "bottom", "bottom right"];

/** Arrows walk the ring of lamps; Enter or the space bar says that one stood there. @param {KeyboardEvent} e */
function walkRing(e) {
  const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
  if (!by) return;
  e.preventDefault();
  const ring = /** @type {Element} */ (e.currentTarget),
    all = /** @type {HTMLElement[]} */ ([...ring.querySelectorAll("[role=radio]")]),
    at = all.indexOf(/** @type {HTMLElement} */ (document.activeElement));
  all[(at + by + all.length) % all.length].focus();
}

/** Cards of the photographs. */
export class PhotoCards {
  /** @param {import("./mat_cards.js").Cards} cards */
  constructor(cards) {
    this.cards = cards;
    this.m = cards.m;
    this.facts = new AboutCard(this);
    this.picked = /** @type {Set<string>} */ (new Set()); // photographs that something is said of at once
    this.sides = /** @type {Record<string, string>} */ ({});
    const kind = { multiple: true, accept: "image/jpeg,image/png,image/tiff,image/webp,.tif,.tiff" };
    this.upload = new Upload(t`Photographs to add`, kind, (args, buffers) => this.m.ask("receive", args, buffers));
  }

  // --- photographs --------------------------------------------------------------------------------
  photographing() {
    const { m } = this,
      st = m.st,
      kids = /** @type {HTMLElement[]} */ ([this.photographs(), this.facts.tools()]);
    if (!st.photos.length)
      kids.unshift(
        h("p", {
          class: "ra-caution",
          text: t`Reading must not touch the piece: no chalk, powder, ink, foil, tape, putty or oil, no breath or water, no cleaning to see better, nothing taken apart. Low light and photographs first. More under ? above.`,
        }),
      );
    if (st.computed)
      kids.push(
        this.cards.card(t`Computed picture`, [
          h("p", { text: st.computed }),
          st.shapes
            ? h(
                "div",
                { class: "ra-group" },
                this.cards.small(
                  t`Surface under a lamp you move`,
                  () => m.ask("relief", { show: "shape" }),
                  "show-shape",
                  { disabled: Boolean(st.busy), title: t`The bare surface without its colour, lit from any side` },
                ),
                this.cards.small(t`Tone without shadows`, () => m.ask("relief", { show: "tone" }), "show-tone", {
                  disabled: Boolean(st.busy),
                  title: t`How light the surface itself is: stain, inlay and gilding, with the shadows gone`,
                }),
              )
            : null,
        ]),
      );
    if (st.scale) kids.push(this.scale(st.scale));
    if (st.photo) kids.push(m.pins.card());
    if (st.about) kids.push(this.facts.about(st.about));
    const mine = st.advice ?? [],
      rest = st.advice_others ?? [],
      told = (/** @type {string[]} */ a) => a.map((x) => h("p", { text: x }));
    this.cards.open.lacks ??= Boolean(mine.length && !st.zones.length); // told before the work begins
    if (mine.length || rest.length)
      kids.push(
        this.cards.folded(
          "lacks",
          mine.length
            ? t`What this photograph lacks (${mine.length})`
            : t`What other photographs lack (${rest.length})`,
          [
            ...told(mine.length ? mine : rest),
            mine.length && rest.length
              ? this.cards.folded("rest", t`Other photographs (${rest.length})`, told(rest))
              : null,
          ],
        ),
      );
    return kids;
  }
  /** @param {import("./board_states.js").ScaleRow} scale */
  scale(scale) {
    return this.cards.card(t`Scale`, [
      h("p", {}, scale.words),
      scale.warning ? h("p", { class: "ra-caution", text: scale.warning }) : null,
    ]);
  }
  photographs() {
    const { m } = this,
      st = m.st,
      ids = st.photos.map((p) => p.id),
      hinted = st.photos.filter((p) => p.hint && !this.sides[p.id]);
    this.picked = new Set([...this.picked].filter((id) => ids.includes(id)));
    const n = this.picked.size,
      sides = Object.entries(this.sides).filter(([id]) => ids.includes(id));
    return this.cards.card(t`Photographs (${ids.length})`, [
      ids.length
        ? h(
            "div",
            { class: "pb-photos", role: "list" },
            st.photos.map((p) => this.photograph(p)),
          )
        : h("p", {
            class: "ra-hint",
            text: t`None yet. Take several of each side with the lamp low and from different directions; turn the lamp, not the piece.`,
          }),
      this.choosing(ids, hinted),
      n || sides.length ? this.batch(n, sides) : null,
    ]);
  }
  /** One photograph: tick, where its lamp stood on a ring of eight places, which surface. @param {import("./board_states.js").PhotoRow} p */
  photograph(p) {
    const { m } = this,
      side = this.sides[p.id] ?? p.side;
    const tick = h("input", {
      type: "checkbox",
      checked: this.picked.has(p.id),
      "data-key": `pick-${p.id}`,
      "aria-label": t`Choose ${p.title}`,
      onchange: () => {
        if (tick.checked) this.picked.add(p.id);
        else this.picked.delete(p.id);
        this.cards.paint();
      },
    });
    const ring = p.kind === "computed" ? h("span") : this.ring(p);
    return h(
      "div",
      { role: "listitem", class: `pb-photo ${p.id === m.st.photo ? "pb-here" : ""}` },
      tick,
      ring,
      h(
        "button",
        {
          type: "button",
          class: "pb-show",
          "data-key": `show-${p.id}`,
          "aria-label": t`Show ${p.title}`,
          onclick: () => m.light.put(p.id),
        },
        h("span", { text: p.surface || t`no surface named` }),
        h("small", {
          text: [p.kind, side ? t`lamp ${places()[side] ?? side}` : p.kind ? "" : t`lamp not noted`, p.title]
            .filter(Boolean)
            .join(" · "),
        }),
      ),
    );
  }
  /** Adding photographs, and choosing those that something is said of. @param {string[]} ids @param {import("./board_states.js").PhotoRow[]} hinted */
  choosing(ids, hinted) {
    const all = this.picked.size === ids.length && ids.length > 0;
    return h(
      "div",
      { class: "ra-group" },
      this.cards.small(t`Add photographs …`, () => this.upload.choose(), "add", {
        title: t`Copies the files into the folder of the piece; the originals stay as they are`,
      }),
      this.upload.input,
      ids.length > 1
        ? this.cards.small(
            all ? t`Choose none` : t`Choose all`,
            () => {
              this.picked = new Set(all ? [] : ids);
              this.cards.paint();
            },
            "all",
          )
        : null,
      hinted.length
        ? this.cards.small(
            t`Lamps as the names say`,
            () => {
              for (const p of hinted) this.sides[p.id] = p.hint;
              this.cards.paint();
            },
            "hints",
            { title: t`The names of the files tell a side; look whether they are right, then keep` },
          )
        : null,
    );
  }
  /** What is said of the chosen ones, kept in one gesture. @param {number} n @param {[string, string][]} sides */
  batch(n, sides) {
    const { m } = this,
      st = m.st;
    const surface = field(t`They show (side or surface)`, () => {}, {
      class: "ra-input pb-text",
      "data-key": "batch-surface",
      list: "pb-surfaces",
      size: "14",
    });
    const keep = () => {
      m.ask("batch", {
        photos: [...this.picked],
        surface: n && surface.input.value.trim() ? surface.input.value : null,
        sides: Object.fromEntries(sides),
      }).then(() => {
        this.sides = {};
        this.picked.clear();
        surface.clear();
        this.cards.paint();
      });
    };
    return h(
      "div",
      { class: "pb-batch", role: "group", "aria-label": t`Say of the chosen photographs` },
      n ? surface.box : null,
      h(
        "datalist",
        { id: "pb-surfaces" },
        (st.about?.surfaces ?? []).map((s) => {
          const o = h("option");
          o.value = s;
          return o;
        }),
      ),
      button(n ? t`Keep for ${n}` : sides.length > 1 ? t`Keep ${sides.length} lamps` : t`Keep one lamp`, keep, {
        class: "ra-button ra-main",
        "data-key": "batch-keep",
      }),
    );
  }
  /** The eight places where a lamp may have stood. @param {import("./board_states.js").PhotoRow} p */
  ring(p) {
    const side = this.sides[p.id] ?? p.side,
      fresh = this.sides[p.id] !== undefined;
    return h(
      "span",
      {
        class: `pb-ringed ${fresh ? "pb-fresh" : ""}`,
        role: "radiogroup",
        "aria-label": t`Where the lamp stood for ${p.title}`,
        onkeydown: walkRing,
      },
      RING.map((r) =>
        r === ""
          ? h("span", { class: "pb-hub" })
          : h("button", {
              type: "button",
              role: "radio",
              class: "pb-at",
              "aria-checked": String(side === r),
              "aria-label": t`lamp at the ${places()[r]}`,
              title: t`Lamp at the ${places()[r]}`,
              "data-key": `at-${p.id}-${r}`,
              tabindex: side === r || (!side && r === "top left") ? "0" : "-1",
              onclick: () => {
                if (this.sides[p.id] === r) delete this.sides[p.id];
                else this.sides[p.id] = r;
                this.cards.paint();
              },
            }),
      ),
    );
  }
}
