// What opens from the head of the bench: other pieces, steps and keys.
import { button, h, refill } from "./kit.js";
import { t } from "./texts.js";

/** What opens from the head of the bench. */
export class Drawer {
  /** @param {import("./head_panel.js").Head} head */
  constructor(head) {
    this.head = head;
  }
  paintDrawer() {
    this.head.drawer.hidden = !this.head.open;
    this.head.title.setAttribute("aria-expanded", String(this.head.open));
    if (!this.head.open) return;
    const at = /** @type {HTMLElement} */ (document.activeElement);
    if (this.head.drawer.contains(at) && at.matches("input")) return;
    refill(
      this.head.drawer,
      h("p", { class: "ra-hint", text: t`On the bench: ${this.head.st.folder}` }),
      this.head.pieces?.rows.length
        ? h(
            "div",
            { class: "hd-list", role: "list", "aria-label": t`Pieces beside it` },
            this.head.pieces.rows.map((/** @type {[string,string]} */ [folder, name]) =>
              h(
                "button",
                {
                  type: "button",
                  role: "listitem",
                  class: "hd-other",
                  "data-key": `p-${folder}`,
                  onclick: () => {
                    this.head.open = false;
                    this.head.ask("open", { folder });
                  },
                },
                name,
              ),
            ),
          )
        : h("p", { class: "ra-hint", text: this.head.pieces ? t`No other piece lies beside this one.` : t`Looking …` }),
      h(
        "div",
        { class: "hd-line" },
        this.head.fresh.box,
        button(t`Start it`, this.head.start, { class: "ra-button", "data-key": "new" }),
      ),
      h(
        "div",
        { class: "hd-line" },
        this.head.other.box,
        button(t`Open it`, this.head.take, { class: "ra-button", "data-key": "open" }),
      ),
      h("div", { class: "hd-line" }, this.head.reader.box),
      this.head.root.querySelector(".ra-fault"),
    );
  }
  paintHelp() {
    const told = this.head.st.help;
    refill(
      this.head.help,
      this.head.help.hidden || !told
        ? []
        : [
            told.caution ? h("p", { class: "ra-caution", text: told.caution }) : null,
            h("h3", { text: t`How it goes here` }),
            h(
              "ol",
              {},
              told.steps.map((x) => h("li", { text: x })),
            ),
            h("h3", { text: t`Keys` }),
            h(
              "dl",
              { class: "hd-keys" },
              told.keys.map(([k, words]) => [h("dt", { text: k }), h("dd", { text: words })]),
            ),
            button(
              t`Close`,
              () => {
                this.head.help.hidden = true;
              },
              { class: "ra-button ra-small", "data-key": "help-close" },
            ),
          ],
    );
  }
}
