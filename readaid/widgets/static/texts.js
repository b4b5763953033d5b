// The program's words in the language spoken now: t`Zone ${n}` looks for "Zone {0}" in the table that Python handed over.
// What stands after a bar only tells two uses of one word apart; a text that is not in the table is said in English.

/** @type {{readaidTexts?: Record<string, Record<string, string>>, readaidLanguage?: string}} */
const page = /** @type {object} */ (globalThis);

/** The language spoken now. */
export const language = () => page.readaidLanguage ?? "en";

/** Choose the language of everything said from now on. @param {string} name */
export const speak = (name) => {
  page.readaidLanguage = name;
};

/** A text with what is put in. @param {TemplateStringsArray|string} strings @param {...unknown} values @returns {string} */
export function t(strings, ...values) {
  const key = typeof strings === "string" ? strings : strings.reduce((all, piece, i) => `${all}{${i - 1}}${piece}`);
  const wording = page.readaidTexts?.[language()]?.[key] ?? key.split("|")[0];
  return wording.replace(/\{(\d+)\}/g, (whole, n) => (n in values ? String(values[n]) : whole));
}

/** @typedef {import("./panel_frame.js").Given} Given */
/** What is done when a panel goes. @typedef {(() => void)|void} End */
/** A panel that lays itself anew, with the focus where it was, when another language is chosen.
 * @param {(given: Given) => End|Promise<End>} render */
export const inLanguage =
  (render) =>
  (/** @type {Given} */ { model, el, signal }) => {
    let inner = new AbortController(),
      end = /** @type {End|Promise<End>} */ (undefined);
    const lay = async () => {
      const key = el.contains(document.activeElement)
        ? /** @type {HTMLElement} */ (document.activeElement).dataset.key
        : "";
      inner.abort();
      (await end)?.();
      inner = new AbortController();
      speak(model.get("spoken"));
      el.replaceChildren();
      end = render({ model, el, signal: AbortSignal.any([signal, inner.signal]) });
      await end;
      const again = key && /** @type {HTMLElement|null} */ (el.querySelector(`[data-key="${CSS.escape(key)}"]`));
      if (again) again.focus({ preventScroll: true });
    };
    model.on("change:spoken", lay);
    signal.addEventListener("abort", () => model.off("change:spoken", lay));
    lay();
    return async () => {
      inner.abort();
      (await end)?.();
    };
  };

/** Signs that are read in Japanese, with what stands between two of them. */
const JAPANESE = /[\u3000-\u30ff\u3400-\u9fff\uf900-\ufaff\u{1b000}-\u{1b12f}\u{20000}-\u{323af}]+/gu;

/** Text of which the Japanese parts are marked as such: a voice that changes its language by the mark spells out the rest.
 * @param {string} text @returns {(string|HTMLElement)[]} */
export function tongues(text) {
  if (language() === "ja") return [text]; // the page is Japanese
  const out = /** @type {(string|HTMLElement)[]} */ ([]);
  let at = 0;
  for (const found of text.matchAll(JAPANESE)) {
    if (found.index > at) out.push(text.slice(at, found.index));
    const part = document.createElement("span");
    part.lang = "ja";
    part.textContent = found[0];
    out.push(part);
    at = found.index + found[0].length;
  }
  return at < text.length || !out.length ? [...out, text.slice(at)] : out;
}

/** Where a lamp stood or a corner lies, in words. @returns {Record<string, string>} */
export const places = () => ({
  "top left": t`top left`,
  top: t`top`,
  "top right": t`top right`,
  left: t`left`,
  right: t`right`,
  "bottom left": t`bottom left`,
  bottom: t`bottom`,
  "bottom right": t`bottom right`,
});
/** How high a lamp stood, in words. @returns {Record<string, string>} */
export const heights = () => ({ low: t`low`, middle: t`middle`, high: t`high` });
