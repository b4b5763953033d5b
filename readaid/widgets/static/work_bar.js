// Long work under way: what it is, how far it has come, and the way to let it go.
import { button, h } from "./kit.js";
import { t } from "./texts.js";

/** @param {{label: string, share: number | null, stoppable: boolean} | null} busy @param {() => void} stop
 * @returns {(HTMLElement | null)[]} */
export function workBar(busy, stop) {
  if (!busy) return [];
  const bar = h("progress", { max: "1", "aria-label": busy.label });
  if (busy.share !== null) bar.value = busy.share;
  const small = { "data-key": "stop", class: "ra-button ra-small" };
  return [h("span", { text: busy.label }), bar, busy.stoppable ? button(t`Stop`, stop, small) : null];
}
