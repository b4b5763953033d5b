// The sign at work: its cut and a reference form at equal size, what it may be and how sure, what survives of it.
import { button, choice, field, h, ja, oneOf, panel, refill, wordFor } from "./kit.js";
import { Finder } from "./letter_finder.js";

/** The cut with a form laid over it while a proposal is pointed at; beside it that form, or the one of what was entered. */
class Pair {
  /** @param {any} p */
  constructor(p) {
    this.p = p;
    this.url = "";
    this.cut = h("img", { alt: "The chosen sign on the photograph", draggable: "false", onload: () => this.place() });
    this.over = h("img", { alt: "", class: "cp-over", hidden: true, draggable: "false" });
    this.form = h("div", { class: "cp-form", role: "img", "aria-label": "Reference form" });
    this.box = h("div", { class: "cp-pairbox" }, h("div", { class: "cp-crop" }, this.cut, this.over), this.form);
  }
  /** A new crop. @param {any} bytes */
  show(bytes) {
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = bytes?.byteLength ? URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" })) : "";
    if (this.url) this.cut.src = this.url;
    else this.cut.removeAttribute("src");
  }
  /** The form lies where the zone lies inside its crop. */
  place() {
    const { naturalWidth: w, naturalHeight: hh } = this.cut,
      box = this.cut.parentElement,
      side = Math.min(box.clientWidth / w, box.clientHeight / hh) / (1 + 2 * (this.p.st.margin ?? 0.25));
    if (!w) return;
    Object.assign(this.over.style, {
      width: `${w * side}px`,
      height: `${hh * side}px`,
      left: `${(box.clientWidth - w * side) / 2}px`,
      top: `${(box.clientHeight - hh * side) / 2}px`,
    });
  }
  /** A proposal is pointed at, or none. @param {[string,string]|null} picture @param {string} [sign] */
  point(picture, sign = "") {
    this.over.hidden = !picture;
    if (picture) {
      this.over.src = picture[0];
      this.place();
    }
    this.rest(picture, sign);
  }
  /** The form beside the cut. @param {[string,string]|null} [picture] @param {string} [sign] */
  rest(picture = null, sign = "") {
    const best = this.p.st.candidates?.[0],
      shown = picture ?? best?.picture ?? null,
      word = sign || best?.character || "";
    const img = shown ? h("img", { alt: shown[1], draggable: "false" }) : null;
    if (img) img.src = shown[0];
    refill(
      this.form,
      img ?? (word ? ja(word, "ra-ja cp-drawn") : h("span", { class: "cp-nothing", text: "·" })),
      h("small", { text: shown ? shown[1] : word ? "as printed" : "" }),
    );
    this.form.setAttribute("aria-label", shown ? `Reference form: ${shown[1]}` : "No reference form");
  }
}

/** @param {any} p */
function paintHead(p) {
  const { st, ask } = p,
    k = st.look;
  refill(
    p.head,
    button("◂", () => ask("step", { by: -1 }), {
      "data-key": "prev",
      disabled: !st.total,
      class: "ra-button ra-small",
      "aria-label": "Earlier sign",
      title: "Earlier sign (Page Up)",
    }),
    h("strong", { class: "cp-which", text: st.character ? `Sign ${st.n} of ${st.total}` : "No sign chosen" }),
    button("▸", () => ask("step", { by: 1 }), {
      "data-key": "next",
      disabled: !st.total,
      class: "ra-button ra-small",
      "aria-label": "Next sign",
      title: "Next sign (Page Down)",
    }),
    st.inside?.length > 1
      ? h(
          "span",
          { class: "ra-group" },
          h("span", { class: "ra-hint", text: "in this zone" }),
          oneOf("Sign in this zone", st.inside, st.character, (v) => ask("choose", { character: v }), "inside"),
        )
      : null,
    h("span", { class: "ra-gap" }),
    k?.photos.length
      ? [
          k.board
            ? button("As on the mat", () => ask("look", { photo: k.board }), {
                class: "ra-button ra-small",
                "data-key": "look-board",
                title: "Take the crop from the photograph that lies on the mat",
              })
            : null,
          k.photos.length > 1
            ? choice("Crop taken from", k.photos, k.photo, (v) => ask("look", { photo: v }), {
                "data-key": "look-photo",
              })
            : null,
          choice("Seen through", k.views, k.view, (v) => ask("look", { view: v }), { "data-key": "look-view" }),
          button("−", () => ask("around", { by: -1 }), {
            class: "ra-button ra-small",
            "data-key": "closer",
            "aria-label": "Closer",
            title: "Show less around the sign",
          }),
          button("+", () => ask("around", { by: 1 }), {
            class: "ra-button ra-small",
            "data-key": "wider",
            "aria-label": "Wider",
            title: "Show more around the sign",
          }),
        ]
      : null,
  );
}
/** What was entered, each with its four words. @param {any} p */
function paintList(p) {
  const { st, ask } = p;
  const rows = st.candidates.map((/** @type {any} */ c) => {
    const word = wordFor(c.confidence, st.words),
      value = (/** @type {string} */ w) => st.values.find((/** @type {any} */ v) => v[0] === w)[1];
    const fine = h("input", {
      type: "number",
      min: "0",
      max: "1",
      step: "0.05",
      class: "cp-fine",
      "aria-label": `How sure of ${c.character}, 0 to 1`,
      "data-key": `s-${c.character}`,
      value: c.confidence.toFixed(2),
      onchange: () => ask("sure", { candidate: c.character, confidence: Math.min(1, Math.max(0, +fine.value || 0)) }),
    });
    const told = [
      c.probability === null
        ? ""
        : `${c.source === "example" ? "by your own example" : "by shape"} ${Math.round(c.probability * 100)} %`,
      c.after === null ? "" : `with its neighbours ${c.after}`,
    ]
      .filter(Boolean)
      .join(", ");
    const at = st.values.findIndex((/** @type {any} */ v) => v[0] === word);
    const words = oneOf(
      `How sure of ${c.character}`,
      st.values.map((/** @type {any} */ [w]) => [w, ""]),
      word,
      (w) => ask("sure", { candidate: c.character, confidence: value(w) }),
      `w-${c.character}`,
    );
    [...words.children].forEach((b, i) => {
      b.setAttribute("aria-label", st.values[i][0]);
      b.setAttribute("title", st.values[i][0]);
      b.classList.toggle("cp-upto", i <= at);
    });
    return h(
      "div",
      { class: "cp-cand", role: "group", "aria-label": `Candidate ${c.character}` },
      h("div", { class: "cp-glyph" }, ja(c.character), h("small", {}, ja(c.about, ""))),
      h(
        "div",
        { class: "cp-sure" },
        h("span", { class: "cp-words" }, words, fine),
        h("small", { class: "cp-word", text: word, title: told }),
        told ? h("small", { title: told, text: told }) : null,
        c.note ? h("small", { class: "cp-note", lang: "ja", title: c.note, text: c.note }) : null,
      ),
      button("✕", () => ask("untag", { candidate: c.character }), {
        class: "ra-button ra-small cp-away",
        title: "Take away",
        "aria-label": `Take ${c.character} away`,
        "data-key": `x-${c.character}`,
      }),
    );
  });
  if (rows.length)
    rows.push(
      h(
        "div",
        { class: "cp-unread" },
        button("Mark as unread", () => ask("unread"), {
          class: "ra-button ra-small",
          "data-key": "unread",
          title: "Takes all candidates away; they stay in the history. Or type ?",
        }),
      ),
    );
  refill(
    p.list,
    rows.length
      ? rows
      : h("p", {
          class: "ra-hint",
          text: "Nothing entered. Type what you see, or find the letter in one of the ways below. Enter as many as you think possible.",
        }),
  );
}
/** What survives, what was seen. @param {any} p */
function paintState(p) {
  const { st, ask } = p;
  const number = (/** @type {string} */ label, /** @type {number} */ v, /** @type {string} */ key) => {
    const i = h("input", {
      type: "number",
      min: "0",
      max: "30",
      class: "ra-input cp-num",
      "aria-label": label,
      "data-key": key,
      value: String(v),
      onchange: () => {
        const [low, high] = ["low", "high"].map(
          (n) => /** @type {HTMLInputElement} */ (p.state.querySelector(`[data-key=${n}]`)),
        );
        ask("mark", { fields: { missing: [+low.value, Math.max(+low.value, +high.value)] } });
      },
    });
    return i;
  };
  refill(
    p.state,
    choice("What survives", st.damages, st.damage, (v) => ask("mark", { fields: { damage: v } }), {
      "data-key": "damage",
      title: "How much survives is one thing, how sure you are of the letter another",
    }),
    st.damage === "lost" || st.missing[1] !== 1 || st.missing[0] !== 1
      ? [
          number("Least number of signs missing", st.missing[0], "low"),
          h("span", { class: "ra-label", text: "to" }),
          number("Most signs missing", st.missing[1], "high"),
        ]
      : null,
    button("Trace", () => p.trace(), {
      class: "ra-button ra-small",
      "data-key": "trace",
      title: "Trace the strokes of this sign; Escape or Reading above leads back",
    }),
  );
}
/** Keys of the whole panel: the next sign, a proposal by its number. @param {any} p @param {KeyboardEvent} e */
function key(p, e) {
  if (e.isComposing || e.ctrlKey || e.metaKey || e.altKey) return;
  const t = /** @type {HTMLElement} */ (e.target),
    typing = t.closest("input:not([type=range]),textarea,select"),
    free = t === p.typed.input && !p.typed.input.value && !p.typed.composing();
  if (e.key === "PageDown" || e.key === "PageUp") {
    e.preventDefault();
    p.ask("step", { by: e.key === "PageDown" ? 1 : -1 });
  } else if (/^[1-9]$/.test(e.key) && (!typing || free) && p.finder.pick(+e.key)) e.preventDefault();
}

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { model, signal } = given;
  const p = /** @type {any} */ ({ ...panel(given, "cp", "The chosen sign"), st: {}, signal });
  p.head = h("div", { class: "ra-bar cp-head" });
  p.list = h("div", { class: "cp-list" });
  p.state = h("div", { class: "cp-state" });
  p.pair = new Pair(p);
  p.trace = () => {
    p.ask("trace").then(() => p.root.closest(".ra-bench")?.classList.add("ra-traced"));
  };
  p.typed = field("Type the sign", () => {}, {
    lang: "ja",
    class: "ra-input cp-type",
    placeholder: "type it",
    title:
      "Japanese input works, or sounds such as ka; several letters become several candidates; Enter on the empty field goes to the next sign; ? marks it as unread",
  });
  const add = () => {
    // Enter on the empty field goes on, so that a whole column is typed without the mouse
    const text = p.typed.input.value.trim();
    if (text) {
      p.ask("type", { text, confidence: p.st.sure });
      p.typed.clear();
    } else p.ask("step", { by: 1 });
  };
  p.typed.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229 && !p.typed.composing()) {
      e.preventDefault();
      add();
    }
  });
  p.finder = new Finder(p);
  const note = field("What was seen (strokes, traces, doubts)", (v) => p.ask("mark", { fields: { note: v } }), {
    lang: "ja",
    placeholder: "note: what was seen",
  });
  const none = h("p", {
    class: "ra-hint cp-none-chosen",
    text: "Choose a mark on the photograph, or go to the first sign.",
  });
  const looked = h("small", {
    class: "cp-looked",
    hidden: true,
    text: "Not the untouched photograph; kept with what you enter.",
  });
  const main = h(
    "div",
    { class: "cp-main" },
    h("div", { class: "cp-top" }, p.pair.box, p.list),
    p.finder.box,
    h("div", { class: "cp-bottom" }, p.state, note.box),
  );
  p.body.append(p.head, none, main);
  p.root.querySelector(".ra-foot").append(looked);
  p.root.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => key(p, e), { signal });
  p.show((/** @type {any} */ state) => {
    if (!state?.words) return;
    const other = state.character !== p.st.character;
    p.st = state;
    none.hidden = Boolean(state.character);
    main.hidden = !state.character;
    paintHead(p);
    looked.hidden = !state.look?.words;
    if (!state.character) return;
    if (other) p.pair.point(null);
    else p.pair.rest();
    paintList(p);
    p.finder.paint();
    paintState(p);
    note.put(state.note);
    if (other) {
      note.clear();
      note.input.value = state.note;
      p.finder.other();
    }
    p.root.dataset.shape = state.shape.state;
    p.root.dataset.character = state.character;
    p.letters();
  });
  const crop = () => p.pair.show(model.get("crop"));
  model.on("change:crop", crop);
  crop();
  signal.addEventListener("abort", () => {
    p.pair.show(null);
    model.off("change:crop", crop);
  });
}

export default { render };
