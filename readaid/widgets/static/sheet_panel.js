// The sheet: columns from the right as on the piece, each sign its crop with what was entered; the reading beside them.
import { button, h, ja, panel, refill } from "./kit.js";

const LEAST = 24,
  MOST = 58; // side of a crop on the sheet, in screen pixels
const GAP = 3;

/** How large a sign may be, so that the longest column stays in sight. @param {HTMLElement} box @param {any[]} columns */
function cell(box, columns) {
  const most = Math.max(1, ...columns.map((c) => c.signs.length)),
    high = box.clientHeight - 22,
    wide = box.clientWidth * 0.66;
  const fit = Math.min((high - GAP * most) / most, wide / Math.max(1, columns.length) / 2.15);
  return Math.round(Math.min(MOST, Math.max(LEAST, fit)));
}

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { signal } = given;
  const { root, body, ask, on, show, letters } = panel(given, "sh", "The sheet");
  let st = /** @type {any} */ ({ columns: [] });
  const crops = /** @type {Map<string, string>} */ (new Map()),
    asked = /** @type {Set<string>} */ (new Set());
  const head = h("div", { class: "sh-head" }),
    paper = h("div", { class: "sh-paper", dir: "rtl" }),
    order = h("div", { class: "sh-order" });
  body.append(head, paper, order);

  const all = () => st.columns.flatMap((/** @type {any} */ c) => c.signs);
  /** One sign. @param {any} c */
  function sign(c) {
    const on2 = c.id === st.chosen,
      url = crops.get(c.crop),
      told = c.text ? `read ${c.text}${c.sure ? `, ${c.sure}` : ""}` : c.mark === "lost" ? "lost" : "not read";
    return h(
      "button",
      {
        type: "button",
        dir: "ltr",
        class: `sh-sign sh-${c.mark} ${on2 ? "sh-on" : ""}`,
        "data-key": `sh-${c.id}`,
        "data-id": c.id,
        "aria-pressed": String(on2),
        tabindex: on2 || (!st.chosen && c.n === 1) ? "0" : "-1",
        draggable: st.stage === "marks" && !st.locked ? "true" : null,
        title: `${c.n}${c.more ? `; ${c.more} other candidate${c.more > 1 ? "s" : ""}` : ""}`,
        "aria-label": `Sign ${c.n}, ${told}${c.machine ? `, the machine proposes ${c.machine}` : ""}`,
        onclick: () => choose(c.id),
        ondragstart: (/** @type {DragEvent} */ e) => e.dataTransfer?.setData("text/plain", c.id),
        ondragover: (/** @type {DragEvent} */ e) => e.preventDefault(),
        ondrop: (/** @type {DragEvent} */ e) => {
          e.preventDefault();
          e.stopPropagation();
          const id = e.dataTransfer?.getData("text/plain");
          if (id && id !== c.id) ask("place_before", { character: id, before: c.id });
        },
      },
      h(
        "span",
        { class: "sh-crop" },
        url
          ? h("img", { src: url, alt: "", draggable: "false" })
          : c.crop
            ? ""
            : h("span", {
                class: "sh-gap",
                text: c.missing ? `[${c.missing[0] === c.missing[1] ? c.missing[0] : c.missing.join("–")}]` : "□",
              }),
      ),
      h(
        "span",
        { class: "sh-said" },
        c.text
          ? ja(c.text, "ra-ja sh-letter")
          : c.machine
            ? ja(c.machine, "ra-ja sh-letter sh-pencil")
            : h("span", { class: "sh-dot", text: c.mark === "lost" ? "□" : "·" }),
        c.sound && c.sound !== c.text ? ja(c.sound, "sh-sound") : h("span", { class: "sh-sound" }),
      ),
    );
  }
  const choose = (/** @type {string} */ id) => {
    st = { ...st, chosen: id };
    paintPaper();
    ask("choose", { character: id });
  };
  function paintHead() {
    refill(
      head,
      h(
        "div",
        { class: "sh-tabs", role: "tablist", "aria-label": "Inscriptions" },
        st.inscriptions.map(([id, words, n]) =>
          h(
            "button",
            {
              type: "button",
              role: "tab",
              class: "sh-tab",
              "data-key": `in-${id}`,
              "aria-selected": String(id === st.inscription),
              onclick: () => ask("inscription", { inscription: id }),
            },
            words,
            h("small", { text: ` ${n}` }),
          ),
        ),
      ),
    );
  }
  function paintPaper() {
    if (!paper.clientHeight) return;
    const size = cell(paper, st.columns);
    paper.style.setProperty("--cell", `${size}px`);
    const kids = st.columns.map((/** @type {any} */ col, /** @type {number} */ i) =>
      h(
        "div",
        {
          class: "sh-col",
          role: "group",
          "aria-label": `Column ${i + 1} from the right`,
          ondragover: (/** @type {DragEvent} */ e) => e.preventDefault(),
          ondrop: (/** @type {DragEvent} */ e) => {
            e.preventDefault();
            const id = e.dataTransfer?.getData("text/plain");
            if (id) ask("place_last", { character: id, column: i + 1 });
          },
        },
        col.signs.map(sign),
        h("span", {
          class: "sh-morae",
          dir: "ltr",
          title: "morae of each verse line that this column carries",
          text: col.morae
            .map(([line, n]) => `${n}${col.morae.length > 1 ? (["¹", "²", "³", "⁴", "⁵", "⁶"][line - 1] ?? "") : ""}`)
            .join(" "),
        }),
      ),
    );
    refill(
      paper,
      kids.length
        ? kids
        : h("p", {
            class: "ra-hint sh-empty",
            dir: "ltr",
            text: st.inscription
              ? "No signs yet. Every mark on the photograph appears here in reading order."
              : "Nothing is written here yet. Mark the first sign on the photograph.",
          }),
      st.edition ? edition(st.edition) : null,
    );
    fetch();
  }
  /** The reading as an edition prints it, line by line. @param {any} e */
  function edition(e) {
    return h(
      "div",
      {
        class: `sh-edition ${e.kept ? "sh-kept" : "sh-running"} ${e.machine ? "sh-machine" : ""}`,
        dir: "ltr",
        role: "group",
        "aria-label": e.kept ? "The reading that was kept" : "The reading now, not kept",
      },
      h(
        "div",
        { class: "sh-lines", lang: "ja" },
        e.lines.map((/** @type {any} */ l) =>
          h(
            "div",
            { class: "sh-line" },
            l.parts.map(([text, machine]) => h("span", { class: machine ? "sh-pencil" : null, text })),
            l.morae === null
              ? null
              : h("span", { class: `sh-count ${l.want && l.morae !== l.want ? "sh-off" : ""}`, text: String(l.morae) }),
          ),
        ),
      ),
      h("small", { class: "sh-words", text: e.words }),
    );
  }
  function fetch() {
    const lack = [...new Set(all().map((/** @type {any} */ c) => c.crop))].filter(
      (k) => k && !crops.has(k) && !asked.has(k),
    );
    if (!lack.length) return;
    for (const k of lack) asked.add(k);
    ask("crops", { keys: lack });
  }
  on("crops", (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    m.keys.forEach((/** @type {string} */ k, /** @type {number} */ i) => {
      if (buffers[i]?.byteLength) crops.set(k, URL.createObjectURL(new Blob([buffers[i]], { type: "image/jpeg" })));
    });
    paintPaper();
  });
  function paintOrder() {
    order.hidden = st.stage !== "marks" || st.locked || !all().length;
    const put = (/** @type {string} */ word, /** @type {string} */ step, /** @type {string} */ title) =>
      button(word, () => ask("order", { character: st.chosen, step }), {
        class: "ra-button ra-small",
        title,
        disabled: !all().some((/** @type {any} */ c) => c.id === st.chosen),
        "data-key": `order-${step}`,
      });
    refill(
      order,
      order.hidden
        ? []
        : [
            put("Earlier", "earlier", "One place earlier in reading order"),
            put("Later", "later", "One place later"),
            put("◂ Column", "left", "The whole column goes one to the left: it is read later"),
            put("Column ▸", "right", "The whole column goes one to the right: it is read earlier"),
            put("New column", "break", "A new column begins with this sign"),
            put("Join", "join", "This column goes on from the one before"),
            put("By position", "by_position", "Order all signs again by where they stand"),
          ],
    );
  }
  paper.addEventListener(
    "keydown",
    (e) => {
      // down the column, then to the head of the next one at the left
      const signs = all(),
        at = signs.findIndex(
          (/** @type {any} */ c) => c.id === /** @type {HTMLElement} */ (document.activeElement)?.dataset.id,
        );
      if (at < 0) return;
      const col = st.columns.findIndex((/** @type {any} */ c) =>
          c.signs.some((/** @type {any} */ s) => s.id === signs[at].id),
        ),
        row = st.columns[col].signs.findIndex((/** @type {any} */ s) => s.id === signs[at].id);
      const beside = (/** @type {number} */ by) => {
        const c = st.columns[col + by];
        return c ? c.signs[Math.min(row, c.signs.length - 1)] : null;
      };
      const next = {
        ArrowDown: signs[at + 1],
        ArrowUp: signs[at - 1],
        ArrowLeft: beside(1),
        ArrowRight: beside(-1),
        Home: signs[0],
        End: signs[signs.length - 1],
      }[e.key];
      if (!next) return;
      e.preventDefault();
      choose(next.id);
      /** @type {any} */ (paper.querySelector(`[data-id="${CSS.escape(next.id)}"]`))?.focus({ preventScroll: true });
    },
    { signal },
  );
  show((now) => {
    if (!now?.columns) return;
    let n = 0;
    st = {
      ...now,
      columns: now.columns.map((/** @type {any} */ c) => ({
        ...c,
        signs: c.signs.map((/** @type {any} */ s) => ({ ...s, n: ++n })),
      })),
    };
    root.dataset.chosen = st.chosen;
    paintHead();
    paintOrder();
    paintPaper();
    paper.querySelector(".sh-on")?.scrollIntoView({ block: "nearest", inline: "nearest" });
    letters();
  });
  const watch = new ResizeObserver(() => paintPaper());
  watch.observe(paper);
  signal.addEventListener("abort", () => {
    watch.disconnect();
    for (const url of crops.values()) URL.revokeObjectURL(url);
  });
}

export default { render };
