// Order of the signs: earlier, later, columns joined and parted.
import { button, refill } from "./kit.js";
import { t } from "./texts.js";

/** Order of the signs. */
export class Order {
  /** @param {import("./sheet_panel.js").Sheet} sheet */
  constructor(sheet) {
    this.sheet = sheet;
  }
  paintOrder() {
    this.sheet.order.hidden = this.sheet.st.stage !== "marks" || this.sheet.st.locked || !this.sheet.all().length;
    const known = this.sheet.all().some((c) => c.id === this.sheet.st.chosen);
    const put = (/** @type {string} */ word, /** @type {string} */ step, /** @type {string} */ title) =>
      button(word, () => this.sheet.ask("order", { character: this.sheet.st.chosen, step }), {
        class: "ra-button ra-small",
        title,
        disabled: !known,
        "data-key": `order-${step}`,
      });
    refill(
      this.sheet.order,
      this.sheet.order.hidden
        ? []
        : [
            put(t`Earlier`, "earlier", t`One place earlier in reading order`),
            put(t`Later`, "later", t`One place later`),
            put(t`◂ Column`, "left", t`The whole column goes one to the left: it is read later`),
            put(t`Column ▸`, "right", t`The whole column goes one to the right: it is read earlier`),
            put(t`New column`, "break", t`A new column begins with this sign`),
            put(t`Join`, "join", t`This column goes on from the one before`),
            put(t`By position`, "by_position", t`Order all signs again by where they stand`),
          ],
    );
  }
}
