// The sheet: columns from the right as on the piece, each sign its crop with what was entered; the reading beside them.
import { h, refill } from "./kit.js";
import { panel } from "./panel_frame.js";
import { Columns } from "./sheet_columns.js";
import { Order } from "./sheet_order.js";
import { inLanguage, t } from "./texts.js";

const LEAST = 24,
  MOST = 58; // side of a crop on the sheet, in screen pixels
const GAP = 3;

/** How large a sign may be, so that the longest column stays in sight.
 * @param {{width: number, height: number}} box @param {import("./sign_states.js").SheetColumn[]} columns */
function cell(box, columns) {
  const most = Math.max(1, ...columns.map((c) => c.signs.length)),
    high = box.height - 22,
    wide = box.width * 0.66;
  const fit = Math.min((high - GAP * most) / most, wide / Math.max(1, columns.length) / 2.15);
  return Math.round(Math.min(MOST, Math.max(LEAST, fit)));
}

/** The sheet: the map of the work. */
export class Sheet {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    this.signal = given.signal;
    this.ordering = new Order(this);
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").SheetPanelAsks, import("./sign_states.js").SheetPanelState>} */
    const made = panel(given, "sh", t`The sheet`);
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.on = made.on;
    this.show = made.show;
    this.letters = made.letters;
    /** @type {Partial<import("./sign_states.js").SheetPanelState>} */ const none = { columns: [] };
    this.st = /** @type {import("./sign_states.js").SheetPanelState} */ (none);
    this.crops = /** @type {Map<string, string>} */ (new Map());
    this.asked = /** @type {Set<string>} */ (new Set());
    this.columns = new Columns(this);
    this.room = { width: 0, height: 0 }; // of the paper, as the browser told it last: asking lays the page out at once
    this.cell = 0;
    this.head = h("div", { class: "sh-head" });
    this.headed = ""; // what its head shows
    /** @type {HTMLElement} */ this.paper = h("div", { class: "sh-paper", dir: "rtl" });
    this.order = h("div", { class: "sh-order" });
    this.body.append(this.head, this.paper, this.order);
    this.on("crops", (m, buffers) => this.taken(m.keys, buffers));
    this.paper.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => this.walk(e), { signal: this.signal });
    this.show((now) => {
      if (!now?.columns) return;
      const other = now.chosen !== this.st.chosen;
      this.st = now;
      this.root.dataset.chosen = this.st.chosen;
      this.paintHead();
      this.ordering.paintOrder();
      this.paintPaper();
      if (other) this.reveal();
      this.letters();
    });
    this.watch = new ResizeObserver(() => {
      const first = !this.room.height;
      this.room = { width: this.paper.clientWidth, height: this.paper.clientHeight };
      this.paintPaper();
      if (first) this.reveal();
    });
    this.watch.observe(this.paper);
    this.signal.addEventListener("abort", () => {
      this.watch.disconnect();
      for (const url of this.crops.values()) URL.revokeObjectURL(url);
    });
  }
  /** The chosen sign comes into sight. */
  reveal() {
    requestAnimationFrame(() =>
      this.paper.querySelector(".sh-on")?.scrollIntoView({ block: "nearest", inline: "nearest" }),
    ); // at once it would lay the page out twice
  }
  all() {
    return this.st.columns.flatMap((c) => c.signs);
  }
  /** A sign is chosen: asked first, and marked where it stands; the answer lays the paper. @param {string} id */
  choose(id) {
    this.ask("choose", { character: id });
    this.st = { ...this.st, chosen: id };
    for (const e of /** @type {NodeListOf<HTMLElement>} */ (this.paper.querySelectorAll(".sh-sign"))) {
      const on = e.dataset.id === id;
      e.classList.toggle("sh-on", on);
      e.setAttribute("aria-selected", String(on));
      e.tabIndex = on ? 0 : -1;
    }
  }
  paintHead() {
    const { inscriptions, inscription } = this.st,
      said = JSON.stringify([inscriptions, inscription]);
    if (said === this.headed) return; // laid anew, the chosen one would be told with every sign
    this.headed = said;
    refill(
      this.head,
      h(
        "div",
        { class: "sh-tabs", role: "tablist", "aria-label": t`Inscriptions` },
        this.st.inscriptions.map(([id, words, n]) =>
          h(
            "button",
            {
              type: "button",
              role: "tab",
              class: "sh-tab",
              "data-key": `in-${id}`,
              "aria-selected": String(id === this.st.inscription),
              onclick: () => this.ask("inscription", { inscription: id }),
            },
            words,
            h("small", { text: ` ${n}` }),
          ),
        ),
      ),
    );
  }
  paintPaper() {
    if (!this.room.height) return;
    const had = /** @type {HTMLElement|null} */ (document.activeElement),
      key = had && this.paper.contains(had) ? had.dataset.key : null;
    const size = cell(this.room, this.st.columns),
      kids = this.columns.made();
    if (size !== this.cell) this.paper.style.setProperty("--cell", `${size}px`);
    this.cell = size;
    refill(
      this.paper,
      kids.length
        ? kids
        : h("p", {
            class: "ra-hint sh-empty",
            dir: "ltr",
            text: this.st.inscription
              ? t`No signs yet. Every mark on the photograph appears here in reading order.`
              : t`Nothing is written here yet. Mark the first sign on the photograph.`,
          }),
      this.st.edition ? this.edition(this.st.edition) : null,
    );
    if (key && document.activeElement !== had)
      /** @type {HTMLElement|null} */ (this.paper.querySelector(`[data-key="${CSS.escape(key)}"]`))?.focus({
        preventScroll: true,
      }); // a sign that went to another column took the focus off
    this.fetch();
  }
  /** The reading as an edition prints it, line by line. @param {import("./sign_states.js").Edition} e */
  edition(e) {
    return h(
      "div",
      {
        class: `sh-edition ${e.kept ? "sh-kept" : "sh-running"} ${e.machine ? "sh-machine" : ""}`,
        dir: "ltr",
        role: "group",
        "aria-label": e.kept ? t`The reading that was kept` : t`The reading now, not kept`,
      },
      h(
        "div",
        { class: "sh-lines", lang: "ja" },
        e.lines.map((l) =>
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
  fetch() {
    const lack = [...new Set(this.all().map((c) => c.crop))].filter(
      (k) => k && !this.crops.has(k) && !this.asked.has(k),
    );
    if (!lack.length) return;
    for (const k of lack) this.asked.add(k);
    this.ask("crops", { keys: lack });
  }
  /** Down the column, then to the head of the next one at the left. @param {KeyboardEvent} e */
  walk(e) {
    const signs = this.all(),
      at = signs.findIndex((c) => c.id === /** @type {HTMLElement} */ (document.activeElement)?.dataset.id);
    if (at < 0) return;
    const col = this.st.columns.findIndex((c) => c.signs.some((s) => s.id === signs[at].id)),
      row = this.st.columns[col].signs.findIndex((s) => s.id === signs[at].id);
    const beside = (/** @type {number} */ by) => {
      const c = this.st.columns[col + by];
      return c ? c.signs[Math.min(row, c.signs.length - 1)] : null;
    };
    /** @type {Record<string, import("./sign_states.js").SheetSign|null|undefined>} */ const ways = {
      ArrowDown: signs[at + 1],
      ArrowUp: signs[at - 1],
      ArrowLeft: beside(1),
      ArrowRight: beside(-1),
      Home: signs[0],
      End: signs[signs.length - 1],
    };
    const next = ways[e.key];
    if (!next) return;
    e.preventDefault();
    this.choose(next.id);
    /** @type {HTMLElement|null} */ (this.paper.querySelector(`[data-id="${CSS.escape(next.id)}"]`))?.focus({
      preventScroll: true,
    });
  }
  /** Crops are here. @param {string[]} keys @param {DataView<ArrayBuffer>[]} buffers */
  taken(keys, buffers) {
    keys.forEach((k, i) => {
      if (buffers[i]?.byteLength)
        this.crops.set(k, URL.createObjectURL(new Blob([buffers[i]], { type: "image/jpeg" })));
    });
    this.paintPaper();
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Sheet(given);
}

export default { render: inLanguage(render) };
