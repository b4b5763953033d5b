// Order of the signs: earlier, later, columns joined and parted.
import { button, refill } from "./kit.js";

/** Order of the signs. */
export class Order {
  /** @param {import("./sheet_panel.js").Sheet} sheet */
  constructor(sheet) {
    this.sheet = sheet;
  }
  paintOrder() {
    this.sheet.order.hidden = this.sheet.st.stage !== "marks" || this.sheet.st.locked || !this.sheet.all().length;
    const put = (/** @type {string} */ word, /** @type {string} */ step, /** @type {string} */ title) =>
      button(word, () => this.sheet.ask("order", { character: this.sheet.st.chosen, step }), {
        class: "ra-button ra-small",
        title,
        disabled: !this.sheet.all().some((/** @type {any} */ c) => c.id === this.sheet.st.chosen),
        "data-key": `order-${step}`,
      });
    refill(
      this.sheet.order,
      this.sheet.order.hidden
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
}
