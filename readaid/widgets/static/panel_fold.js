// A panel on a long page folds to its heading, which then tells what it holds; as the reader left it, so it comes again.
import { h } from "./kit.js";
import { t } from "./texts.js";

const KEPT = "readaid-folds";

/** What the reader folded or opened, by panel. @returns {Record<string, boolean>} */
function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "{}");
  } catch {
    return {}; // no store here, or not ours: every panel stands as it does at first
  }
}

/** The heading of a panel as the button that folds it. */
export class Fold {
  /** @param {{root: HTMLElement, body: HTMLElement}} frame @param {string} name @param {boolean} open how it stands at first */
  constructor({ root, body }, name, open) {
    this.name = name;
    this.root = root;
    this.body = body;
    this.held = h("small", { class: "ra-holds", id: `ra-holds-${name}` });
    const title = /** @type {HTMLElement} */ (root.querySelector(".ra-title"));
    this.button = h(
      "button",
      {
        type: "button",
        class: "ra-folder",
        "data-key": `fold-${name}`,
        "aria-describedby": this.held.id,
        onclick: () => this.turn(),
      },
      title.textContent,
    );
    title.replaceChildren(this.button);
    title.after(this.held);
    this.lay(kept()[name] ?? open);
  }
  /** @param {boolean} open */
  lay(open) {
    this.open = open;
    this.body.hidden = !open;
    this.root.classList.toggle("ra-folded", !open);
    this.button.setAttribute("aria-expanded", String(open));
  }
  turn() {
    this.lay(!this.open);
    try {
      localStorage.setItem(KEPT, JSON.stringify({ ...kept(), [this.name]: this.open }));
    } catch {
      /* nothing is kept here */
    }
  }
  /** What stands under the heading while it is folded, and how many. @param {string} words @param {number} [n] */
  holds(words, n) {
    this.held.textContent = n === undefined ? words : t`${words}: ${n}`;
  }
}
