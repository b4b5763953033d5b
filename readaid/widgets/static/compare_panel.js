// Two forms laid on each other: two colours, a slider, a blink, side by side; with what the likeness is made of.
import { button, choice, field, h, ja, oneOf, panel, refill } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { model, signal } = given;
  const { root, body, ask, show, on } = panel(given, "xp", "Compare two forms");
  let st = /** @type {any} */ ({});
  let look = "colours",
    wipe = 0.5,
    rings = true,
    timer = 0,
    second = false;
  let a = /** @type {ImageBitmap|null} */ (null),
    b = /** @type {ImageBitmap|null} */ (null),
    overlay = /** @type {ImageBitmap|null} */ (null);
  const shelf = h("div", { class: "xp-shelf", role: "group", "aria-label": "Forms to compare" });
  const adding = h("div", {});
  const canvas = h("canvas", { class: "xp-canvas", role: "img" });
  const tools = h("div", { class: "ra-bar" });
  const facts = h("div", { class: "xp-facts", tabindex: "-1" });
  body.append(
    h("p", { class: "ra-hint", text: "Choose a first and a second form." }),
    shelf,
    adding,
    h("div", { class: "xp-split" }, h("div", { class: "xp-left" }, tools, canvas), facts),
    h(
      "p",
      { class: "ra-caution" },
      "A likeness is evidence of form, not of who made it. Forgers copy the form, pupils kept it, and a near-perfect overlay may mean a copy. Put the question of authorship to a recognised appraisal body.",
    ),
  );
  const pictures = /** @type {Map<string, string>} */ (new Map());
  on("thumbnail", (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    pictures.set(m.id, URL.createObjectURL(new Blob([buffers[0]], { type: "image/jpeg" })));
    paintShelf();
  });
  on("forms", async (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    const made = await Promise.all(buffers.map((x) => createImageBitmap(new Blob([x]))));
    [a, b, overlay].forEach((x) => x?.close());
    [a, b, overlay] = made;
    root.dataset.forms = m.pair;
    draw();
  });
  ask("forms");
  signal.addEventListener("abort", () => {
    clearInterval(timer);
    pictures.forEach((u) => URL.revokeObjectURL(u));
  });

  function paintShelf() {
    const asked = st.specimens
      .filter((/** @type {any} */ s) => !pictures.has(s.id))
      .map((/** @type {any} */ s) => s.id);
    if (asked.length) {
      for (const id of asked) pictures.set(id, "");
      ask("thumbnails", { ids: asked });
    }
    refill(
      shelf,
      st.specimens.map((/** @type {any} */ s) => {
        const p = pictures.get(s.id);
        return h(
          "div",
          { class: `xp-form ${s.id === st.a ? "xp-a" : ""} ${s.id === st.b ? "xp-b" : ""}` },
          p ? h("img", { src: p, alt: `Form: ${s.title}` }) : h("div", { class: "xp-blank" }),
          h("div", { class: "xp-title", lang: "ja", text: s.title }),
          h("small", { text: s.words }),
          h(
            "div",
            { class: "ra-group" },
            button("First", () => ask("pick", { which: "a", id: s.id }), {
              class: "ra-button ra-small",
              "aria-pressed": String(s.id === st.a),
              "data-key": `a-${s.id}`,
              "aria-label": `${s.title} as the first form`,
            }),
            button("Second", () => ask("pick", { which: "b", id: s.id }), {
              class: "ra-button ra-small",
              "aria-pressed": String(s.id === st.b),
              "data-key": `b-${s.id}`,
              "aria-label": `${s.title} as the second form`,
            }),
          ),
        );
      }),
      st.specimens.length
        ? null
        : h("p", {
            class: "ra-hint",
            text: "No forms yet. Draw a zone round the monogram on the first page, then add it here.",
          }),
    );
  }
  function paintAdding() {
    if (adding.contains(document.activeElement) && /** @type {HTMLElement} */ (document.activeElement).matches("input"))
      return;
    if (!st.zones.length) return refill(adding);
    const zone = choice("Add the form in zone", st.zones, st.zones[st.zones.length - 1][0], () => {});
    const owner = choice("Said to be of", [["", "not known"], ...st.people], "", () => {});
    const kind = choice(
      "Kind (old classification)",
      st.kinds.map((/** @type {string} */ x) => [x, x]),
      "unclassified",
      () => {},
    );
    const yr = field("Year, if known", () => {}, { size: "7", inputmode: "numeric" });
    refill(
      adding,
      h(
        "details",
        { class: "ra-fold" },
        h("summary", { text: "Add a form from a zone" }),
        h(
          "div",
          { class: "ra-group xp-add" },
          zone,
          owner,
          kind,
          yr.box,
          button(
            "Add the form",
            () =>
              ask("add", {
                zone: zone.querySelector("select").value,
                person: owner.querySelector("select").value,
                kind: kind.querySelector("select").value,
                year: yr.input.value,
              }),
            { class: "ra-button ra-main" },
          ),
        ),
      ),
    );
  }
  function paintTools() {
    const slider = h("input", {
      type: "range",
      class: "ra-range xp-wipe",
      min: "0",
      max: "1",
      step: "0.01",
      "aria-label": "How much of the second form is shown",
      oninput: () => {
        wipe = +slider.value;
        draw();
      },
    });
    slider.value = String(wipe);
    refill(
      tools,
      oneOf(
        "How to look",
        [
          ["colours", "Two colours"],
          ["wipe", "Slider"],
          ["blink", "Blink"],
          ["beside", "Side by side"],
        ],
        look,
        (v) => {
          look = v;
          paintTools();
          draw();
        },
        "look",
      ),
      look === "wipe" ? slider : null,
      h("span", { class: "ra-gap" }),
      choice(
        "Turn the second form",
        [
          ["as it stands", "as it stands"],
          ["mirrored", "mirrored"],
          ["upside down", "upside down"],
        ],
        st.turn,
        (v) => ask("turn", { turn: v }),
        { "data-key": "turn" },
      ),
      st.traced.map((/** @type {any} */ t) =>
        button(`${t.words} as traced`, () => ask("traced", { which: t.side, on: !t.on }), {
          "aria-pressed": String(t.on),
          "data-key": `tr-${t.side}`,
          title: "Compare the strokes you traced instead of the photograph",
        }),
      ),
    );
    clearInterval(timer);
    if (look === "blink")
      timer = setInterval(() => {
        second = !second;
        draw();
      }, 900); // slower than three flashes a second, for those whom flicker harms
  }
  function draw() {
    if (!a || !b || !st.result) {
      canvas.hidden = true;
      return;
    }
    canvas.hidden = false;
    const d = window.devicePixelRatio || 1,
      wide = Math.min(560, root.clientWidth - 40),
      ctx = canvas.getContext("2d");
    const size = (/** @type {number} */ w, /** @type {number} */ hh) => {
      canvas.width = w * d;
      canvas.height = hh * d;
      canvas.style.width = `${w}px`;
      canvas.style.height = `${hh}px`;
      ctx.setTransform(d, 0, 0, d, 0, 0);
      ctx.fillStyle = "#fff";
      ctx.fillRect(0, 0, w, hh);
    };
    canvas.setAttribute("aria-label", `${st.result.alt} Shown: ${look}.`);
    if (look === "colours" && overlay) {
      size(wide, (wide * overlay.height) / overlay.width);
      ctx.drawImage(overlay, 0, 0, wide, (wide * overlay.height) / overlay.width);
      return;
    }
    const k = Math.min(wide / a.width, 460 / a.height),
      w = a.width * k,
      hh = a.height * k,
      t = st.result.transform;
    const putB = () => {
      ctx.save();
      ctx.transform(k, 0, 0, k, 0, 0);
      ctx.transform(t[0], t[3], t[1], t[4], t[2], t[5]);
      ctx.drawImage(b, 0, 0);
      ctx.restore();
    };
    if (look === "beside") {
      const kb = hh / b.height;
      size(w + b.width * kb + 12, hh);
      ctx.drawImage(a, 0, 0, w, hh);
      ctx.drawImage(b, w + 12, 0, b.width * kb, hh);
      return;
    }
    size(w, hh);
    ctx.drawImage(a, 0, 0, w, hh);
    if (look === "wipe") {
      ctx.save();
      ctx.beginPath();
      ctx.rect(0, 0, w * wipe, hh);
      ctx.clip();
      putB();
      ctx.restore();
      ctx.fillStyle = "#d98200";
      ctx.fillRect(w * wipe - 1.5, 0, 3, hh);
    } else if (second) putB();
    if (rings)
      for (const r of st.result.differences) {
        ctx.strokeStyle = "#cc79a7";
        ctx.lineWidth = 3;
        ctx.strokeRect(r[0] * k - 5, r[1] * k - 5, r[2] * k + 10, r[3] * k + 10);
      }
  }
  let mending = false;
  function mend(/** @type {any} */ r) {
    const side = (/** @type {string} */ id, /** @type {number} */ col, /** @type {string} */ title) => {
      const inputs = /** @type {Record<string, HTMLInputElement>} */ ({});
      const rows = st.counts.map((/** @type {any} */ [name, words], /** @type {number} */ i) => {
        if (name === "proportions") return null;
        const x = field(words, () => {}, { inputmode: "numeric", size: "4" });
        x.input.value = String(r.counts[i][col]).replace("*", "");
        inputs[name] = x.input;
        return x.box;
      });
      return h(
        "fieldset",
        { class: "xp-mend" },
        h("legend", { text: title }),
        rows,
        button(
          "Save",
          () => {
            const fields = Object.fromEntries(Object.entries(inputs).map(([k, i]) => [k, i.value]));
            mending = false;
            facts.focus();
            ask("correct", { id, fields });
          },
          { class: "ra-button ra-small" },
        ),
      );
    };
    return h(
      "div",
      {},
      side(st.a, 1, "First form, counted by hand"),
      side(st.b, 2, "Second form, counted by hand"),
      button(
        "Cancel",
        () => {
          mending = false;
          facts.focus();
          paintFacts();
        },
        { class: "ra-button ra-small" },
      ),
    );
  }
  function paintFacts() {
    const r = st.result;
    if (!r)
      return refill(facts, h("p", { class: "ra-hint", text: st.busy ? "Laying the forms on each other …" : st.words }));
    const note = field("Your note", () => {}, { rows: 2, lang: "ja" });
    if (
      facts.contains(document.activeElement) &&
      /** @type {HTMLElement} */ (document.activeElement).matches("textarea,input")
    )
      return;
    refill(
      facts,
      h(
        "div",
        { class: "xp-figure" },
        h("span", { class: "xp-number", text: r.likeness }),
        h("span", { text: "likeness of form, 0 to 1" }),
      ),
      r.disagree ? h("p", { class: "ra-caution xp-disagree", text: r.disagree }) : null,
      h(
        "table",
        {},
        h("caption", { class: "ra-sr", text: "What the likeness is made of" }),
        h(
          "tbody",
          {},
          r.parts.map((/** @type {any} */ [k, v]) =>
            h(
              "tr",
              {},
              h("th", { scope: "row", text: k }),
              h("td", {}, h("span", { class: "xp-bar" }, h("span", { style: `width:${Math.round(v * 100)}%` }))),
              h("td", { class: "xp-num", text: v.toFixed(2) }),
            ),
          ),
        ),
      ),
      h(
        "table",
        { class: "xp-counts" },
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            r.heads.map((/** @type {string} */ x) => h("th", { scope: "col", text: x })),
          ),
        ),
        h(
          "tbody",
          {},
          r.counts.map((/** @type {any} */ c) =>
            h(
              "tr",
              {},
              c.map((/** @type {any} */ x, /** @type {number} */ i) =>
                h(i ? "td" : "th", i ? { text: x } : { scope: "row", text: x }),
              ),
            ),
          ),
        ),
      ),
      mending
        ? mend(r)
        : button(
            "Correct the counts …",
            () => {
              mending = true;
              paintFacts();
            },
            { class: "ra-button ra-small", "data-key": "mend" },
          ),
      h("p", { text: r.laid }),
      r.notes.map((/** @type {string} */ n) => h("p", { class: "xp-note", text: n })),
      h("p", {}, h("small", { text: r.population })),
      note.box,
      button("Keep this comparison", () => ask("keep", { note: note.input.value }), {
        class: "ra-button ra-main",
        "data-key": "keepx",
      }),
    );
  }
  show((now) => {
    if (!now?.specimens) return;
    st = now;
    paintShelf();
    paintAdding();
    paintTools();
    paintFacts();
    draw();
    root.dataset.likeness = st.result?.likeness ?? "";
  });
  const watch = new ResizeObserver(() => draw());
  watch.observe(root);
  signal.addEventListener("abort", () => watch.disconnect());
}

export default { render };
