// A panel folds to its heading, which then tells what it holds; as the reader left it, so it comes again. Side by side on the
// bench the headings stand in one row and one panel is open: opened, it takes the room of the one before.
import { h } from "./kit.js";
import { t } from "./texts.js";

const KEPT = "readaid-open";
/** Which panel of a place is open for who comes first. @type {Record<string, string>} */
const FIRST = { school: "sp", report: "tp" };

/** Which panel the reader opened last, by place. @returns {Record<string, string>} */
function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "{}") ?? {};
  } catch {
    return {}; // no store here, or not ours: the places stand as they do at first
  }
}

/** The heading of a panel as the button that folds it. */
export class Fold {
  /** @param {{root: HTMLElement, body: HTMLElement}} frame @param {string} name @param {"school"|"report"} place of the bench */
  constructor({ root, body }, name, place) {
    this.name = name;
    this.place = place;
    this.root = root;
    this.body = body;
    body.id = `ra-body-${name}`;
    body.tabIndex = -1; // on the bench the panel itself has no box, and a click on empty ground leaves the focus here
    this.held = h("small", { class: "ra-holds", id: `ra-holds-${name}`, "aria-hidden": "true" });
    const title = /** @type {HTMLElement} */ (root.querySelector(".ra-title"));
    this.button = h(
      "button",
      {
        type: "button",
        class: "ra-folder",
        "data-key": `fold-${name}`,
        "aria-controls": body.id,
        onclick: () => this.turn(),
      },
      h("span", { text: title.textContent }),
      this.held,
    );
    title.replaceChildren(this.button);
    root.addEventListener("ra-fold", () => this.lay(false));
    this.lay((kept()[place] ?? FIRST[place]) === name);
  }
  /** @param {boolean} open */
  lay(open) {
    this.open = open;
    this.body.hidden = !open;
    this.root.classList.toggle("ra-folded", !open);
    this.button.setAttribute("aria-expanded", String(open));
    // what it holds is told where it does not show
    if (open) this.button.removeAttribute("aria-describedby");
    else this.button.setAttribute("aria-describedby", this.held.id);
  }
  turn() {
    const room = this.root.closest(".rb-wide");
    if (room && this.open) return; // a room without an open panel would stand empty
    for (const other of room?.querySelectorAll(".ra:not(.ra-folded)") ?? []) other.dispatchEvent(new Event("ra-fold"));
    this.lay(!this.open);
    if (!this.open) return;
    try {
      localStorage.setItem(KEPT, JSON.stringify({ ...kept(), [this.place]: this.name }));
    } catch {
      /* nothing is kept here */
    }
  }
  /** What stands under the heading while it is folded, and how many. @param {string} words @param {number} [n] */
  holds(words, n) {
    this.held.textContent = n === undefined ? words : t`${words}: ${n}`;
  }
}
