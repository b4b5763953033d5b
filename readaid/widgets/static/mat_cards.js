// The cards beside the mat: photographs with their surfaces and lamps, tools, marks and what they are, questions, scale.
import { button, choice, field, h, ja, oneOf, refill } from "./kit.js";

const RING = ["top left", "top", "top right", "left", "", "right", "bottom left", "bottom", "bottom right"];
const PART = 1 << 20; // a photograph comes in pieces: one large message would cut the connection

export class Cards {
  /** @param {any} m the board @param {HTMLElement} box */
  constructor(m, box) {
    this.m = m;
    this.box = box;
    this.open = /** @type {Record<string, boolean>} */ ({});
    this.picked = /** @type {Set<string>} */ (new Set()); // photographs that something is said of at once
    this.sides = /** @type {Record<string, string>} */ ({});
    this.stale = false; // the field being typed in is never rebuilt
    this.file = h("input", {
      type: "file",
      multiple: true,
      accept: "image/jpeg,image/png,image/tiff,image/webp,.tif,.tiff",
      class: "ra-sr",
      tabindex: "-1",
      "aria-label": "Photographs to add",
      onchange: () => this.send([...this.file.files]),
    });
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
    const top = this.box.scrollTop;
    refill(this.box, this.cards());
    this.box.scrollTop = top;
  }
  small(/** @type {string} */ word, /** @type {() => void} */ act, /** @type {string} */ key, more = {}) {
    return button(word, act, { class: "ra-button ra-small", "data-key": key, ...more });
  }
  card(/** @type {string} */ title, /** @type {any[]} */ kids, more = {}) {
    return h("div", { class: "pb-card", ...more }, title ? h("h3", { text: title }) : null, ...kids);
  }
  folded(/** @type {string} */ key, /** @type {string} */ title, /** @type {any[]} */ inside) {
    return h(
      "details",
      {
        class: "pb-card",
        open: Boolean(this.open[key]),
        ontoggle: (/** @type {any} */ e) => {
          if (e.target === e.currentTarget) this.open[key] = e.target.open;
        },
      },
      h("summary", { text: title, "data-key": `fold-${key}` }),
      ...inside.filter(Boolean),
    );
  }

  cards() {
    const { m } = this,
      st = m.st,
      kids = /** @type {any[]} */ ([]);
    if (!m.editing)
      return [this.card("", [h("p", { class: "ra-hint", text: "Opened for reading: nothing can be changed here." })])];
    if (st.question) kids.push(this.question(st.question));
    if (st.ruler) kids.push(this.ruler(st.ruler));
    if (m.mode === "scale") kids.push(this.scaleForm());
    if (m.mode === "bend") kids.push(this.bendForm());
    if (m.mode === "sphere")
      kids.push(
        this.card("Lamp read from a ball", [
          h("p", { text: "A shiny ball beside the piece mirrors the lamp. Click the ball's left and right edge." }),
          this.small("Cancel", () => m.hand.setMode("hand"), "sphere-no"),
        ]),
      );
    if (m.mode === "square")
      kids.push(
        this.card("Square up", [
          h("p", { class: "ra-hint", text: "Four corners, clockwise from the top left." }),
          this.small("Cancel", () => m.hand.setMode("hand"), "square-no"),
        ]),
      );
    return [...kids, ...(st.stage === "marks" ? this.marking() : this.photographing())];
  }

  // --- photographs --------------------------------------------------------------------------------
  photographing() {
    const { m } = this,
      st = m.st,
      kids = [this.photographs(), this.tools()];
    if (!st.photos.length)
      kids.unshift(
        h("p", {
          class: "ra-caution",
          text: "Reading must not touch the piece: no chalk, powder, ink, foil, tape, putty or oil, no breath or water, no cleaning to see better, nothing taken apart. Low light and photographs first. More under ? above.",
        }),
      );
    if (st.computed)
      kids.push(
        this.card("Computed picture", [
          h("p", { text: st.computed }),
          st.shapes
            ? h(
                "div",
                { class: "ra-group" },
                this.small("Surface under a lamp you move", () => m.ask("relief", { show: "shape" }), "show-shape", {
                  disabled: Boolean(st.busy),
                  title: "The bare surface without its colour, lit from any side",
                }),
                this.small("Tone without shadows", () => m.ask("relief", { show: "tone" }), "show-tone", {
                  disabled: Boolean(st.busy),
                  title: "How light the surface itself is: stain, inlay and gilding, with the shadows gone",
                }),
              )
            : null,
        ]),
      );
    if (st.scale)
      kids.push(
        this.card("Scale", [
          h("p", {}, st.scale.words),
          st.scale.warning ? h("p", { class: "ra-caution", text: st.scale.warning }) : null,
        ]),
      );
    if (st.about) kids.push(this.about(st.about));
    const mine = st.advice ?? [],
      rest = st.advice_others ?? [],
      told = (/** @type {string[]} */ a) => a.map((t) => h("p", { text: t }));
    this.open.lacks ??= Boolean(mine.length && !st.zones.length); // told before the work begins
    if (mine.length || rest.length)
      kids.push(
        this.folded(
          "lacks",
          mine.length ? `What this photograph lacks (${mine.length})` : `What other photographs lack (${rest.length})`,
          [
            ...told(mine.length ? mine : rest),
            mine.length && rest.length ? this.folded("rest", `Other photographs (${rest.length})`, told(rest)) : null,
          ],
        ),
      );
    return kids;
  }
  photographs() {
    const { m } = this,
      st = m.st,
      ids = st.photos.map((/** @type {any} */ p) => p.id),
      hinted = st.photos.filter((/** @type {any} */ p) => p.hint && !this.sides[p.id]);
    this.picked = new Set([...this.picked].filter((id) => ids.includes(id)));
    const all = this.picked.size === ids.length && ids.length > 0,
      n = this.picked.size,
      sides = Object.entries(this.sides).filter(([id]) => ids.includes(id));
    const surface = field("They show (side or surface)", () => {}, {
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
        this.paint();
      });
    };
    return this.card(`Photographs (${ids.length})`, [
      ids.length
        ? h(
            "div",
            { class: "pb-photos", role: "list" },
            st.photos.map((/** @type {any} */ p) => this.photograph(p)),
          )
        : h("p", {
            class: "ra-hint",
            text: "None yet. Take several of each side with the lamp low and from different directions; turn the lamp, not the piece.",
          }),
      h(
        "div",
        { class: "ra-group" },
        this.small("Add photographs …", () => this.file.click(), "add", {
          title: "Copies the files into the folder of the piece; the originals stay as they are",
        }),
        this.file,
        ids.length > 1
          ? this.small(
              all ? "None" : "All",
              () => {
                this.picked = new Set(all ? [] : ids);
                this.paint();
              },
              "all",
            )
          : null,
        hinted.length
          ? this.small(
              "Lamps as the names say",
              () => {
                for (const p of hinted) this.sides[p.id] = p.hint;
                this.paint();
              },
              "hints",
              { title: "The names of the files tell a side; look whether they are right, then keep" },
            )
          : null,
      ),
      n || sides.length
        ? h(
            "div",
            { class: "pb-batch", role: "group", "aria-label": "Say of the chosen photographs" },
            n ? surface.box : null,
            h(
              "datalist",
              { id: "pb-surfaces" },
              (st.about?.surfaces ?? []).map((/** @type {string} */ s) => {
                const o = h("option");
                o.value = s;
                return o;
              }),
            ),
            button(n ? `Keep for ${n}` : `Keep ${sides.length} lamp${sides.length > 1 ? "s" : ""}`, keep, {
              class: "ra-button ra-main",
              "data-key": "batch-keep",
            }),
          )
        : null,
    ]);
  }
  /** One photograph: tick, where its lamp stood on a ring of eight places, which surface. @param {any} p */
  photograph(p) {
    const { m } = this,
      side = this.sides[p.id] ?? p.side,
      fresh = this.sides[p.id] !== undefined;
    const tick = h("input", {
      type: "checkbox",
      checked: this.picked.has(p.id),
      "data-key": `pick-${p.id}`,
      "aria-label": `Choose ${p.title}`,
      onchange: () => {
        if (tick.checked) this.picked.add(p.id);
        else this.picked.delete(p.id);
        this.paint();
      },
    });
    const ring =
      p.kind === "computed"
        ? h("span")
        : h(
            "span",
            {
              class: `pb-ringed ${fresh ? "pb-fresh" : ""}`,
              role: "radiogroup",
              "aria-label": `Where the lamp stood for ${p.title}`,
            },
            RING.map((r) =>
              r === ""
                ? h("span", { class: "pb-hub" })
                : h("button", {
                    type: "button",
                    role: "radio",
                    class: "pb-at",
                    "aria-checked": String(side === r),
                    "aria-label": `lamp at the ${r}`,
                    title: `Lamp at the ${r}`,
                    "data-key": `at-${p.id}-${r}`,
                    tabindex: side === r || (!side && r === "top left") ? "0" : "-1",
                    onclick: () => {
                      if (this.sides[p.id] === r) delete this.sides[p.id];
                      else this.sides[p.id] = r;
                      this.paint();
                    },
                  }),
            ),
          );
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
          "aria-label": `Show ${p.title}`,
          onclick: () => m.light.put(p.id),
        },
        h("span", { text: p.surface || "no surface named" }),
        h("small", {
          text: [p.kind, side ? `lamp ${side}` : p.kind ? "" : "lamp not noted", p.title].filter(Boolean).join(" · "),
        }),
      ),
    );
  }
  tools() {
    const { m } = this,
      st = m.st,
      gone = !st.photo || Boolean(st.trouble);
    const tool = (/** @type {string} */ word, /** @type {string} */ mode, /** @type {string} */ title) =>
      button(word, () => m.hand.setMode(m.mode === mode ? "hand" : mode), {
        class: "ra-button ra-small",
        "data-mode": mode,
        "data-key": `mode-${mode}`,
        "aria-pressed": String(m.mode === mode),
        title,
        disabled: gone,
      });
    return this.card("", [
      h(
        "div",
        { class: "ra-group", role: "toolbar", "aria-label": "Photograph tools" },
        tool("Set the scale", "scale", "Two clicks and a length you know"),
        tool(
          "Square up",
          "square",
          "Four corners of something rectangular; makes a straightened picture, zones stay on the untouched photograph",
        ),
        tool(
          "Straighten a column",
          "bend",
          "Points along the middle of a curved column; makes a picture with the column laid straight, zones stay on the untouched photograph",
        ),
        this.small("Relief from the lights", () => m.ask("relief"), "relief", {
          disabled: gone || Boolean(st.busy),
          title:
            "Works out the surface from all photographs of this side under different lights: cuts dark, colour gone",
        }),
      ),
    ]);
  }
  about(/** @type {any} */ a) {
    const { m } = this,
      st = m.st;
    const surface = field("Which side or surface", (v) => m.ask("about", { name: "surface", value: v }), {
      value: a.surface,
      class: "ra-input pb-text",
      "data-key": "about-surface",
      list: "pb-surfaces",
      size: "14",
    });
    const light = field("Light, in your words", (v) => m.ask("about", { name: "light", value: v }), {
      value: a.light,
      class: "ra-input pb-text",
      "data-key": "about-light",
      size: "18",
    });
    const tick = (/** @type {string} */ name, /** @type {string} */ words, /** @type {boolean} */ on) => {
      const box = h("input", {
        type: "checkbox",
        checked: on,
        "data-key": `about-${name}`,
        onchange: () => m.ask("about", { name, value: box.checked }),
      });
      return h("label", { class: "pb-tick-box" }, box, h("span", { text: words }));
    };
    const lamp = (/** @type {string} */ side, /** @type {string} */ height) =>
      m.ask("lamp", { side, height: height || "low" });
    return this.folded("about", "About this photograph", [
      a.computed
        ? null
        : choice(
            "Kind of picture",
            a.kinds.map((/** @type {string} */ k) => [k, k[0].toUpperCase() + k.slice(1)]),
            a.evidence,
            (v) => m.ask("about", { name: "evidence", value: v }),
            { "data-key": "about-evidence" },
          ),
      surface.box,
      light.box,
      st.over_choices?.length
        ? choice(
            "Laid over",
            [["", "no other"], ...st.over_choices.map((/** @type {any} */ p) => [p.id, p.title])],
            st.over,
            (v) => m.ask("lay_over", { reference: v }),
            { "data-key": "over", title: "Zones then hold in both photographs of the surface" },
          )
        : null,
      tick("mirrored", "Mirrored: show left and right exchanged", a.mirrored),
      tick("swapped", "Negative: show dark and light exchanged", a.swapped),
      a.computed
        ? null
        : choice(
            "Where the lamp stood",
            [["", "not known"], ...a.sides.map((/** @type {string} */ s) => [s, `at the ${s}`])],
            a.side,
            (v) => lamp(v, a.height),
            { "data-key": "about-lamp" },
          ),
      a.computed || !a.side
        ? null
        : choice("How high", a.heights, a.height, (v) => lamp(a.side, v), { "data-key": "about-height" }),
      a.computed
        ? null
        : this.small("Read it from a shiny ball …", () => m.hand.setMode("sphere"), "about-sphere", {
            title: "A shiny ball in the picture mirrors the lamp: click its two edges",
          }),
    ]);
  }
  async send(/** @type {File[]} */ files) {
    for (const f of files) {
      const id = String(Math.random()).slice(2);
      for (let i = 0, n = Math.max(1, Math.ceil(f.size / PART)); i < n; i++)
        await this.m.ask("receive", { id, name: f.name, at: i, of: n }, [
          await f.slice(i * PART, (i + 1) * PART).arrayBuffer(),
        ]);
    }
    this.file.value = "";
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
      this.card("", [
        h(
          "div",
          { class: "ra-group", role: "toolbar", "aria-label": "Marking tools" },
          tool("Look and change", "hand", "Move the photograph; choose, move and resize marks (H)"),
          tool("Draw zones", "draw", "Drag round a sign (D)"),
          tool("Lasso", "lasso", "Draw a line round several marks (O)"),
          this.small(
            "Propose zones",
            () => {
              m.proposing = m.view.whole;
              m.ask("propose", { region: m.onScreen() });
            },
            "propose",
            {
              disabled: !st.photo || Boolean(st.busy) || Boolean(st.trouble),
              title: "Let the computer look for columns and signs in what is on the screen; you mend the result",
            },
          ),
        ),
        h(
          "div",
          { class: "pb-pair" },
          st.inscriptions?.length
            ? choice(
                "Inscription",
                [...st.inscriptions.map((/** @type {any} */ i) => [i.id, i.title]), ["+", "New inscription …"]],
                st.inscription,
                (v) => m.ask("inscription", { inscription: v }),
                { "data-key": "inscription" },
              )
            : null,
          st.photo
            ? choice(
                st.inscription ? "What it is" : "What you will mark",
                st.kinds.map((/** @type {any} */ i) => [i.id, i.title]),
                st.kind,
                (v) => m.ask("kind", { kind: v }),
                { "data-key": "kind", title: st.kind_words },
              )
            : null,
        ),
      ]),
    );
    kids.push(this.chosen());
    if (st.corrections?.length) kids.push(this.corrections(st.corrections));
    return kids;
  }
  chosen() {
    const { m } = this,
      st = m.st,
      several = m.marks.several.size ? [...m.marks.several] : st.selected ? [st.selected] : [];
    const z = m.marks.chosen(),
      doubtful = st.zones.filter((/** @type {any} */ o) => o.faint).length;
    const act = (
      /** @type {string} */ word,
      /** @type {string} */ what,
      /** @type {string} */ title,
      off = false,
      cls = "",
    ) =>
      button(
        word,
        () => {
          m.hand.finishNudge();
          m.ask(what, { zone: st.selected });
        },
        { title, disabled: off, class: `ra-button ra-small ${cls}`, "data-key": what },
      );
    const look = doubtful
      ? this.small(`Look at the next (${doubtful} doubtful)`, () => this.lookNext(), "look", {
          title: "Proposed zones that are hardly sure, or cut through running writing (L)",
        })
      : null;
    if (!several.length)
      return this.card("", [
        h("p", {
          class: "ra-hint",
          text: st.zones.length
            ? "Choose a mark to change it; Shift and a click, or the lasso, chooses several. Tab and Page Down walk through them."
            : st.photo
              ? "No marks yet: let the computer propose zones, or draw round the first sign at the top of the right-hand column."
              : "Add a photograph to begin.",
        }),
        look,
      ]);
    const named = m.marks.several.size
      ? `${several.length} marks`
      : `Zone ${z?.label || "–"}${z?.home ? ` (drawn on ${z.home})` : ""}`;
    const one = m.marks.several.size
      ? []
      : [
          h(
            "div",
            { class: "ra-group" },
            z?.sure ? h("span", { class: z.faint ? "pb-sure pb-warn" : "pb-sure", text: z.sure }) : null,
            z?.sure
              ? this.small("It is right", () => this.right(), "right", {
                  title: "The proposed zone is right as it is (R)",
                })
              : null,
            look,
          ),
          h(
            "div",
            { class: "ra-group" },
            act("Two signs joined here", "join_two", "This outline holds two signs written in one stroke"),
            act("One sign with the next zone", "merge_next", "The sign lies in this zone and the next"),
            act("Undo the joining", "unjoin", "Back to one sign for one zone", !z?.joined),
            act("Delete the zone", "delete_zone", "Takes the zone away (Delete); can be undone", false, "ra-danger"),
          ),
        ];
    return this.card(
      named,
      [
        ...one,
        h(
          "div",
          { class: "ra-group pb-parted", role: "group", "aria-label": "What they are" },
          h("span", { class: "ra-label", text: several.length > 1 ? "These are" : "This is" }),
          st.parted.map((/** @type {[string,string]} */ [what, words]) =>
            this.small(words, () => m.ask("allot", { zones: several, what }).then(() => m.let()), `allot-${what}`),
          ),
        ),
      ],
      { "aria-live": "off" },
    );
  }
  right() {
    const { m } = this,
      i = m.st.zones.findIndex((/** @type {any} */ z) => z.id === m.st.selected);
    m.ask("right", { zone: m.st.selected }).then(() => this.lookNext(i));
  }
  /** The next proposed zone that wants a look, in reading order. */
  lookNext(from = this.m.st.zones.findIndex((/** @type {any} */ z) => z.id === this.m.st.selected)) {
    const { m } = this,
      n = m.st.zones.length,
      next = [...Array(n).keys()].map((i) => m.st.zones[(from + 1 + i) % n]).find((z) => z.faint);
    if (!next) {
      m.say("No proposed zone waits to be looked at.");
      return;
    }
    m.hand.select(next.id);
    m.view.showZone(next.id);
    m.say(`Look at zone ${next.label}: ${next.sure}. Move it, take it away, or say that it is right (R).`);
    m.looked = true;
    m.marks.focus(next.id);
  }

  // --- questions and offers -------------------------------------------------------------------------
  question(/** @type {any} */ q) {
    const { m } = this;
    return this.card(
      "Which signs are these?",
      [
        h("p", { text: q.text }),
        ...q.choices.map((/** @type {[string,string]} */ [where, words]) =>
          this.small(words, () => m.ask("propose", { region: q.region, where }), `ask-${where}`),
        ),
        this.small("Draw nothing", () => m.ask("leave_question"), "ask-no"),
      ],
      { class: "pb-card pb-ask", role: "group", "aria-label": "A question before zones are proposed" },
    );
  }
  corrections(/** @type {any[]} */ rows) {
    const { m } = this;
    return this.card(`Corrections offered (${rows.length})`, [
      h("small", {
        text: "Found again on zones that are there, but not alike; drawn in dashes. Nothing is changed unless you take it.",
      }),
      ...rows.map((c) =>
        h(
          "div",
          { class: "pb-fix", role: "group", "aria-label": c.words },
          h("span", { text: c.words }),
          this.small(
            "Show",
            () => {
              m.hand.select(c.zone);
              m.view.showZone(c.zone);
            },
            `fix-show-${c.n}`,
          ),
          this.small("Take", () => m.ask("correct", { which: c.n }), `fix-${c.n}`),
          this.small("Leave", () => m.ask("correct", { which: c.n, take: false }), `fix-no-${c.n}`),
        ),
      ),
      rows.length > 1 ? this.small("Leave all", () => m.ask("leave_corrections"), "fix-none") : null,
    ]);
  }
  ruler(/** @type {any} */ r) {
    const { m } = this;
    return this.card(
      "A ruler was found",
      [
        h("p", { text: r.words }),
        h(
          "div",
          { class: "ra-group" },
          r.uses.map((/** @type {[string,string]} */ [use, words]) =>
            this.small(
              words,
              () => m.ask("use_ruler", { use }).then(() => m.hand.setMode("hand", true)),
              `ruler-${use}`,
            ),
          ),
          this.small("It is no ruler", () => m.ask("leave_ruler"), "ruler-no"),
        ),
      ],
      { class: "pb-card pb-ask", role: "group", "aria-label": "A ruler was found" },
    );
  }
  scaleForm() {
    const { m } = this,
      st = m.st,
      done = m.hand.points.length === 2,
      second = Boolean(st.scale);
    let which = second ? "check" : "scale";
    const mm = field(done ? "Length in millimetres" : "First click both ends on the photograph", () => {}, {
      inputmode: "decimal",
      disabled: !done,
      size: "10",
    });
    const what = field("What is it? (ruler, width of the plate …)", () => {}, { size: "22" });
    const put = () => {
      if (m.hand.points.length === 2)
        m.ask("scale", { points: m.hand.points, length: mm.input.value, what: what.input.value, which }).then(() => {
          if (m.st.scale) {
            m.hand.points = [];
            m.hand.setMode("hand", true);
          }
        });
    };
    mm.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Enter" && !e.isComposing) put();
    });
    const box = this.card(second ? "A second known length" : "Known length", []);
    if (second) {
      const pick = () =>
        oneOf(
          "Use",
          [
            ["check", "Check the scale with it"],
            ["scale", "New scale from it"],
          ],
          which,
          (v) => {
            which = v;
            radio.replaceChildren(pick());
          },
        );
      const radio = h("div", {}, pick());
      box.append(radio);
    }
    box.append(
      mm.box,
      what.box,
      h(
        "div",
        { class: "ra-group" },
        button("Keep", put, { class: "ra-button ra-main", disabled: !done }),
        button("Cancel", () => m.hand.setMode("hand")),
      ),
      st.ruler
        ? ""
        : this.small("Look for a ruler in the picture", () => m.ask("find_ruler"), "find-ruler", {
            title: "A ruler with even marks is looked for; you say whether it is one",
          }),
    );
    return box;
  }
  bendForm() {
    const { m } = this,
      st = m.st,
      n = m.hand.points.length,
      mm = st.scale?.mm_per_pixel;
    const told = (/** @type {number} */ v) => `${v} pixels${mm ? `, ${(v * mm).toFixed(1)} mm` : ""}`;
    const out = h("output", { text: told(m.hand.band) });
    const range = h("input", {
      type: "range",
      class: "ra-range",
      min: "8",
      max: String(Math.max(40, Math.min(4000, 4 * (st.across || 100)))),
      step: "2",
      "aria-label": "Width of the column",
      "data-key": "band",
      oninput: () => {
        m.hand.band = +range.value;
        m.marks.tips();
        out.textContent = told(+range.value);
      },
    });
    range.value = String(m.hand.band);
    return this.card("Straighten a curved column", [
      h("p", {
        class: "ra-hint",
        text: n
          ? `${n} point${n > 1 ? "s" : ""} along the middle. The dashed lines show how much is taken.`
          : "Click along the middle of the column, from its top to its bottom.",
      }),
      h("label", { class: "ra-field" }, h("span", { class: "ra-label" }, "Width taken: ", out), range),
      h(
        "div",
        { class: "ra-group" },
        button("Straighten", () => m.hand.endBend(), {
          class: "ra-button ra-main",
          disabled: n < 2,
          "data-key": "bend-do",
        }),
        this.small("Take the last point back", () => m.hand.unmark(), "bend-back", { disabled: !n }),
        this.small("Cancel", () => m.hand.setMode("hand"), "bend-no"),
      ),
    ]);
  }
}
