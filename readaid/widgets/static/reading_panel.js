// The reading line: what stands there now, its share and its next rival, and keeping it in place; more of it on asking.
import { button, h, ja, oneOf, panel, refill } from "./kit.js";
import { Drawer, parts } from "./reading_drawer.js";

/** The best reading in one line, dots where nothing was said. @param {any} p */
function paintLine(p) {
  const { st } = p,
    best = st.readings[0],
    rival = st.readings[1];
  if (p.keeping >= 0) return;
  if (!best) {
    refill(
      p.line,
      h(
        "div",
        { class: "rp-now" },
        h("div", { class: "rp-text rp-silent", lang: "ja", "aria-label": "Nothing read", text: st.dots || "·" }),
        h("div", { class: "rp-roman", text: st.busy ? "Searching …" : st.words || "Nothing is said of any sign yet." }),
      ),
      more(p),
    );
    return;
  }
  const off = best.lines.some((/** @type {any} */ l) => l.surplus);
  refill(
    p.line,
    h(
      "div",
      { class: `rp-now ${best.machine ? "rp-machine" : ""}` },
      h(
        "div",
        { class: "rp-text", lang: "ja" },
        best.text
          ? [
              h("span", { class: "rp-kanji", text: best.text }),
              h(
                "span",
                { class: "rp-kana" },
                best.lines.map((/** @type {any} */ l, /** @type {number} */ i) => [i ? "　" : null, parts(l.parts)]),
              ),
            ]
          : best.lines.map((/** @type {any} */ l, /** @type {number} */ i) => [i ? "　" : null, parts(l.parts)]),
      ),
      h(
        "div",
        { class: "rp-roman" },
        h("span", { text: best.romaji }),
        h("span", {
          class: `rp-metre ${off ? "rp-off" : ""}`,
          text: best.lines.map((/** @type {any} */ l) => l.morae).join("-"),
        }),
      ),
    ),
    h(
      "div",
      { class: "rp-facts" },
      h("div", { text: st.busy ? "Searching …" : best.share }),
      rival
        ? h(
            "div",
            { class: "rp-rival", title: "the next reading" },
            "then ",
            ja(rival.differs || rival.short, "ra-ja"),
            ` ${rival.share.replace("share ", "")}`,
          )
        : null,
      best.machine
        ? h("div", { class: "rp-warn", text: `${best.others} of ${st.signs} signs not the reader's` })
        : null,
    ),
    more(p),
  );
}
/** @param {any} p */
function more(p) {
  const { st } = p,
    open = p.drawer.open;
  return h(
    "div",
    { class: "rp-buttons" },
    st.readings.length
      ? button(st.readings[0].machine ? "Keep as a proposal …" : "Keep …", () => p.keep(0), {
          class: `ra-button ${st.readings[0].machine ? "" : "ra-main"}`,
          "data-key": "keep-0",
        })
      : null,
    button(open ? "Less ▾" : "More ▴", () => p.drawer.toggle(), {
      class: "ra-button",
      "data-key": "more",
      "aria-expanded": String(open),
      title: "All readings, the chosen sign in its place, your own words, known verses, attempts",
    }),
  );
}

/** Writing a reading down, where the reading stands. @param {any} p @param {number} i which reading; -2: the reader's own words */
function keepForm(p, i) {
  const { st, draft } = p,
    machine = i >= 0 && st.readings[i]?.machine;
  const evidence = h("input", {
    type: "text",
    class: "ra-input rp-why",
    lang: "ja",
    placeholder: "Why? (what is seen, which light, who agrees)",
    "aria-label": "Why? (what is seen, which light, who agrees)",
    value: draft.evidence,
    "data-key": "kev",
    oninput: () => {
      draft.evidence = evidence.value;
    },
  });
  const write = () =>
    p
      .ask(i === -2 ? "keep_own" : "keep", {
        confidence: draft.confidence,
        evidence: draft.evidence,
        status: draft.status,
        ...(i === -2 ? { text: p.drawer.own.input.value } : { index: i, turn: st.turn, seen: Boolean(machine) }),
      })
      .then(() => {
        if (!p.fault.textContent) {
          p.keeping = -1;
          draft.evidence = "";
        }
        p.paint();
      });
  evidence.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) {
      e.preventDefault();
      write();
    }
  });
  const words = st.values.map((/** @type {any} */ [w]) => [w, w]),
    now = st.values.find((/** @type {any} */ v) => v[1] === draft.confidence)?.[0] ?? "";
  return h(
    "div",
    { class: "rp-keep", role: "group", "aria-label": "Keep this reading" },
    h(
      "div",
      { class: "rp-keeprow" },
      h("span", { class: "ra-label", text: machine ? "A proposal, mostly the machine's. Sure?" : "How sure?" }),
      oneOf(
        "How sure",
        words,
        now,
        (w) => {
          draft.confidence = st.values.find((/** @type {any} */ v) => v[0] === w)[1];
          p.repaint();
        },
        "ks",
      ),
      h("span", { class: "ra-label", text: "as" }),
      oneOf(
        "Status",
        st.statuses,
        draft.status,
        (v) => {
          draft.status = v;
          p.repaint();
        },
        "kst",
      ),
    ),
    h(
      "div",
      { class: "rp-keeprow" },
      evidence,
      button("Write it into the register", write, { class: "ra-button ra-main", "data-key": "kw" }),
      button(
        "Cancel",
        () => {
          p.keeping = -1;
          p.paint();
        },
        { "data-key": "kc" },
      ),
    ),
  );
}

/** @param {import("./kit.js").Given} given */
function render(given) {
  const p = /** @type {any} */ ({
    ...panel(given, "rp", "Reading"),
    st: { readings: [], signs: 0 },
    keeping: -1,
    signal: given.signal,
    draft: { confidence: 0.5, evidence: "", status: "open" },
  });
  p.line = h("div", { class: "rp-line-now" });
  p.drawer = new Drawer(p);
  p.body.append(p.drawer.box, p.line);
  p.keep = (/** @type {number} */ i) => {
    p.keeping = i;
    p.repaint();
    p.line.querySelector("[data-key^=ks-]")?.focus();
  };
  p.repaint = () => {
    if (p.keeping === -1) paintLine(p);
    else refill(p.line, keepForm(p, p.keeping));
  };
  p.paint = () => {
    if (p.keeping === -1 || !p.line.querySelector(".rp-keep")) p.repaint();
    p.drawer.paint();
  };
  p.root.addEventListener(
    "keydown",
    (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Escape" && p.drawer.open && !e.isComposing) {
        p.drawer.toggle();
        p.line.querySelector("[data-key=more]")?.focus();
      }
    },
    { signal: given.signal },
  );
  p.show((/** @type {any} */ now) => {
    if (!now?.forms) return;
    const moved = now.turn !== p.st.turn;
    p.st = now;
    if (moved && p.keeping >= 0) {
      p.keeping = -1;
      p.say("The readings changed; choose again which one to keep.");
    }
    p.root.dataset.turn = String(now.turn);
    p.root.dataset.busy = String(Boolean(now.busy));
    p.root.dataset.shape = now.shape.on ? "on" : "off";
    p.paint();
    p.letters();
  });
}

export default { render };
