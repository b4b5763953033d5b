// Columns of the sheet: each made once, and again only where what it shows has changed; numbers are put in place.
import { h, ja, refill } from "./kit.js";
import { afterFrame } from "./standing_rows.js";
import { t } from "./texts.js";

const RAISED = ["¹", "²", "³", "⁴", "⁵", "⁶"];

const AT_ONCE = 60; // signs whose numbers change with one gesture: more of them wait until the frame is painted

/** A column as it stands there: what it was made from, and the number of its first sign.
 * @typedef {{of: import("./sign_states.js").SheetColumn, told: string, json: string, first: number, i: number, box: HTMLElement}} Kept */
/** A sign as it stands there: what it was made from, and its number.
 * @typedef {{told: string, n: number, box: HTMLElement}} Laid */

/** The columns of the sheet. */
export class Columns {
  /** @param {import("./sheet_panel.js").Sheet} sheet */
  constructor(sheet) {
    this.sheet = sheet;
    this.kept = /** @type {Map<string, Kept>} */ (new Map());
    this.signs = /** @type {Map<string, Laid>} */ (new Map());
    this.late = /** @type {Map<Kept, [number, number]>} */ (new Map()); // columns whose numbers wait: place, first number
    this.cuts = /** @type {Map<string, HTMLElement>} */ (new Map()); // a picture that stands there is not decoded again
  }
  /** The elements of all columns, from the right. @returns {HTMLElement[]} */
  made() {
    const kept = new Map();
    let first = 1;
    const boxes = this.sheet.st.columns.map((col, i) => {
      const told = this.told(col, first);
      const was = this.kept.get(col.id),
        json = was && was.of === col ? was.json : JSON.stringify(col),
        same = was?.json === json && was?.told === told,
        row = was && same ? was : this.row(col, told, json, i, first);
      row.of = col;
      if (row.first !== first || row.i !== i) this.late.set(row, [i, first]);
      else this.late.delete(row);
      kept.set(col.id, row);
      first += col.signs.length;
      return row.box;
    });
    this.kept = kept;
    if (this.cuts.size > 2 * first + 100) this.cuts.clear();
    if (this.signs.size > 2 * first + 100) this.signs.clear();
    const waiting = [...this.late.keys()].reduce((n, row) => n + row.of.signs.length, 0);
    if (waiting > AT_ONCE) afterFrame(() => this.renumber());
    else this.renumber();
    return boxes;
  }
  /** @param {import("./sign_states.js").SheetColumn} of @param {string} told @param {string} json @param {number} i @param {number} first @returns {Kept} */
  row(of, told, json, i, first) {
    const box = this.kept.get(of.id)?.box ?? this.column(of, i);
    box.setAttribute("aria-label", t`Column ${i + 1} from the right`);
    box.style.setProperty("--signs", String(of.signs.length));
    refill(
      box,
      of.signs.map((c, k) => this.laid(c, first + k)),
      this.morae(of),
    );
    return { of, told, json, first, i, box };
  }
  /** What a column shows that is not its own: the chosen sign, whether it may be dragged, the pictures that are here.
   * @param {import("./sign_states.js").SheetColumn} col @param {number} first */
  told(col, first) {
    const { st, crops } = this.sheet;
    const chosen = col.signs.some((c) => c.id === st.chosen) ? st.chosen : "";
    const here = col.signs.filter((c) => crops.has(c.crop)).length;
    return [chosen, this.loose(), !st.chosen && first === 1, here].join(" ");
  }
  /** Signs may be dragged to another place. */
  loose() {
    return this.sheet.st.stage === "marks" && !this.sheet.st.locked;
  }
  /** The same signs under other numbers. */
  renumber() {
    for (const [row, [i, first]] of this.late) {
      row.first = first;
      row.i = i;
      row.box.setAttribute("aria-label", t`Column ${i + 1} from the right`);
      row.of.signs.forEach((c, k) => this.laid(c, first + k));
    }
    this.late.clear();
  }
  /** A sign as it stands there, made again only where what it shows has changed. @param {import("./sign_states.js").SheetSign} c @param {number} n */
  laid(c, n) {
    const { st, crops } = this.sheet,
      on = c.id === st.chosen,
      told = JSON.stringify([c, on, !on && !st.chosen && n === 1, this.loose(), crops.has(c.crop)]),
      was = this.signs.get(c.id);
    if (was?.told === told && was.n === n) return was.box;
    if (was?.told !== told) {
      const box = this.sign(c, n);
      this.signs.set(c.id, { told, n, box });
      return box;
    }
    const [title, label] = this.words(c, n);
    was.n = n;
    was.box.setAttribute("title", title);
    was.box.setAttribute("aria-label", label);
    return was.box;
  }
  /** The morae of each verse line that a column carries. @param {import("./sign_states.js").SheetColumn} col */
  morae(col) {
    return h("span", {
      class: "sh-morae",
      dir: "ltr",
      title: t`morae of each verse line that this column carries`,
      text: col.morae.map(([line, n]) => `${n}${col.morae.length > 1 ? (RAISED[line - 1] ?? "") : ""}`).join(" "),
    });
  }
  /** The box of a column. @param {import("./sign_states.js").SheetColumn} col @param {number} i */
  column(col, i) {
    return h("div", {
      class: "sh-col",
      role: "listbox", // a screen reader leaves the arrows to a list, and walks the page with them over buttons
      ondragover: (/** @type {DragEvent} */ e) => e.preventDefault(),
      ondrop: (/** @type {DragEvent} */ e) => {
        e.preventDefault();
        const id = e.dataTransfer?.getData("text/plain"),
          column = this.kept.get(col.id)?.i ?? i;
        if (id) this.sheet.ask("place_last", { character: id, column: column + 1 });
      },
    });
  }
  /** Its number with how many candidates it has, and the sign in words; with its sound, since no voice knows old kana.
   * @param {import("./sign_states.js").SheetSign} c @param {number} n */
  words(c, n) {
    const text = c.sound && c.sound !== c.text ? `${c.text} ${c.sound}` : c.text;
    const told = c.text
      ? c.sure
        ? t`read ${text}, ${c.sure}`
        : t`read ${text}`
      : c.mark === "lost"
        ? t`lost`
        : t`not read`;
    const more = c.more ? (c.more > 1 ? t`${c.more} other candidates` : t`one other candidate`) : "";
    return [
      more ? t`${n}; ${more}` : String(n),
      c.machine ? t`Sign ${n}, ${told}, the machine proposes ${c.machine}` : t`Sign ${n}, ${told}`,
      more, // its number is in its name
    ];
  }
  /** One sign. @param {import("./sign_states.js").SheetSign} c @param {number} n */
  sign(c, n) {
    const { st } = this.sheet,
      on = c.id === st.chosen,
      [title, label, more] = this.words(c, n);
    return h(
      "button",
      {
        type: "button",
        role: "option",
        dir: "ltr",
        class: `sh-sign sh-${c.mark} ${on ? "sh-on" : ""}`,
        "data-key": `sh-${c.id}`,
        "data-id": c.id,
        "aria-selected": String(on),
        tabindex: on || (!st.chosen && n === 1) ? "0" : "-1",
        draggable: this.loose() ? "true" : null,
        title,
        "aria-description": more,
        "aria-label": label,
        onclick: () => this.sheet.choose(c.id),
        ondragstart: (/** @type {DragEvent} */ e) => e.dataTransfer?.setData("text/plain", c.id),
        ondragover: (/** @type {DragEvent} */ e) => e.preventDefault(),
        ondrop: (/** @type {DragEvent} */ e) => {
          e.preventDefault();
          e.stopPropagation();
          const id = e.dataTransfer?.getData("text/plain");
          if (id && id !== c.id) this.sheet.ask("place_before", { character: id, before: c.id });
        },
      },
      this.crop(c),
      this.said(c),
    );
  }
  /** Its crop, or the gap it stands for. @param {import("./sign_states.js").SheetSign} c */
  crop(c) {
    const gap = [...new Set(c.missing ?? [])].join("–"); // one number where the least is the most
    return h(
      "span",
      { class: "sh-crop" },
      this.picture(c) ?? (c.crop ? "" : h("span", { class: "sh-gap", text: c.missing ? `[${gap}]` : "□" })),
    );
  }
  /** The picture of a sign, once it is here; two signs of one zone have one each. @param {import("./sign_states.js").SheetSign} c */
  picture(c) {
    const src = this.sheet.crops.get(c.crop),
      key = `${c.id} ${c.crop}`;
    if (!src) return null;
    const made = this.cuts.get(key) ?? h("img", { src, alt: "", draggable: "false" });
    this.cuts.set(key, made);
    return made;
  }
  /** What was said of it, and its sound. @param {import("./sign_states.js").SheetSign} c */
  said(c) {
    return h(
      "span",
      { class: "sh-said" },
      c.text
        ? ja(c.text, "ra-ja sh-letter")
        : c.machine
          ? ja(c.machine, "ra-ja sh-letter sh-pencil")
          : h("span", { class: "sh-dot", text: c.mark === "lost" ? "□" : "·" }),
      c.sound && c.sound !== c.text
        ? ja(c.sound, c.sound.length > 3 ? "sh-sound sh-long" : "sh-sound")
        : h("span", { class: "sh-sound" }),
    );
  }
}
