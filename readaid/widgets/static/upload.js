// Files that a reader chooses or drops: the field that takes them, and their way to Python, which can be stopped.
import { sendFiles } from "./file_pieces.js";
import { h } from "./kit.js";

/** One way in for files: its field, which never shows, and what is sent through it. */
export class Upload {
  /** @param {string} label @param {{accept: string, multiple?: boolean}} kind which files the system's window offers
   * @param {(args: import("./file_pieces.js").Piece, buffers: ArrayBuffer[]) => Promise<void>} ask gets each piece */
  constructor(label, kind, ask) {
    this.ask = ask;
    this.under = /** @type {Set<object>} */ (new Set());
    this.input = h("input", {
      type: "file",
      class: "ra-sr",
      tabindex: "-1",
      "aria-label": label,
      ...kind,
      onchange: () => this.send([...(this.input.files ?? [])]),
    });
  }
  /** The system's window for choosing them. */
  choose() {
    this.input.click();
  }
  /** @param {File[]} files */
  async send(files) {
    const mine = {}; // what was stopped stays so when other files follow
    this.under.add(mine);
    await sendFiles(this.ask, files, () => this.under.has(mine));
    this.under.delete(mine);
    this.input.value = "";
  }
  /** No further part leaves this page. */
  stop() {
    this.under.clear();
  }
}
