// The elements of the mat: canvas, marks, the whole piece small, what works, what fails, the filter of its tones.
import { h, s } from "./kit.js";
import { t } from "./texts.js";

let filters = 0;

/** The filter that lays midtones on the canvas; its name differs on each board, since a page may hold several. */
function tones() {
  const channels = /** @type {const} */ (["feFuncR", "feFuncG", "feFuncB"]).map((n) =>
    s(n, { type: "gamma", exponent: "1", "data-gamma": "1" }),
  );
  const filter = { id: `pb-tone-${++filters}`, "color-interpolation-filters": "sRGB" };
  return s(
    "svg",
    { class: "ra-sr", "aria-hidden": "true" },
    s("filter", filter, s("feComponentTransfer", {}, channels)),
  );
}

/** Make the elements of the mat and lay them into the board's body.
 * @param {{root: HTMLElement, body: HTMLElement}} board */
export function skeleton({ root, body }) {
  /** @type {HTMLCanvasElement} */ const canvas = h("canvas", { "aria-hidden": "true" });
  /** @type {HTMLCanvasElement} */ const mini = h("canvas", { class: "pb-small", hidden: true, "aria-hidden": "true" });
  /** @type {SVGElement} */ const svg = s("svg", { class: "pb-marks", role: "presentation" });
  const keys = t`Arrows move it, plus and minus zoom, 0 shows the whole, digits light the lamps, Page Down goes to the next zone.`;
  /** @type {HTMLElement} */ const host = h(
    "div",
    {
      class: "pb-view",
      tabindex: "0",
      role: "application",
      "aria-roledescription": t`photograph board`,
      "aria-label": `${t`Photograph`}. ${keys}`,
    },
    canvas,
    svg,
    mini,
  );
  /** @type {HTMLElement} */ const side = h("div", { class: "pb-side", tabindex: "-1" });
  /** @type {HTMLElement} */ const work = h("div", { class: "pb-work", role: "group", "aria-label": t`Running work` });
  /** @type {HTMLElement} */ const trouble = h("div", { class: "pb-trouble", role: "alert", hidden: true });
  /** @type {SVGElement} */ const curve = tones();
  const told = [root.querySelector(".ra-fault"), root.querySelector(".ra-foot")];
  /** @type {HTMLElement} */ const area = h("div", { class: "pb-mat" }, host, work, trouble, ...told, curve);
  body.append(area, side);
  return { canvas, mini, svg, host, side, work, trouble, curve, area };
}
