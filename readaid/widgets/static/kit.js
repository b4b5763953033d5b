// Elements that every panel is made of: buttons, fields, choices, lists that arrow keys walk.
// Plain ESM, no build step, no address to load from: Python hands this file over as text.

import { choices, flat } from "./laying.js";
import { tongues } from "./texts.js";

export { refill } from "./laying.js";

const NS = "http://www.w3.org/2000/svg";

/** @typedef {Node|string|null|false|undefined} One */
/** What goes into an element, also in lists; nothing stands for nothing.
 * @typedef {One|readonly (One|readonly One[])[]} Kid */
/** What an element bears: a listener for `on*`, text for `text`; false and null are left out.
 * @typedef {Record<string, any>} Attrs */

/** Make an element. @template {keyof HTMLElementTagNameMap} K @param {K} tag @param {Attrs} [attrs] @param {...(Kid|readonly Kid[])} kids
 * @returns {HTMLElementTagNameMap[K]} */
export function h(tag, attrs = {}, ...kids) {
  const e = document.createElement(tag);
  dress(e, attrs);
  for (const k of flat(kids)) e.append(k);
  return e;
}

/** The same for SVG. @template {keyof SVGElementTagNameMap} K @param {K} tag @param {Attrs} [attrs] @param {...(Kid|readonly Kid[])} kids
 * @returns {SVGElementTagNameMap[K]} */
export function s(tag, attrs = {}, ...kids) {
  const e = document.createElementNS(NS, tag);
  dress(e, attrs);
  for (const k of flat(kids)) e.append(k);
  return e;
}

/** Elements that hold text alone. */
const PLAIN = /^(OPTION|TEXTAREA|TITLE|STYLE)$/;

/** @param {Element} e @param {Attrs} attrs */
function dress(e, attrs) {
  // a tooltip that says the name once more is for the eye: spoken, it would be told twice
  if (attrs.title && attrs.title === attrs["aria-label"]) e.setAttribute("aria-description", "");
  for (const [k, v] of Object.entries(attrs)) {
    if (v === null || v === undefined || v === false) continue;
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else if (k === "text") {
      const plain = attrs.lang || e.namespaceURI === NS || PLAIN.test(e.tagName);
      if (plain) e.textContent = v;
      else e.replaceChildren(...tongues(String(v)));
    } else if (k === "value" || k === "checked" || k === "disabled" || k === "open") /** @type {any} */ (e)[k] = v;
    else e.setAttribute(k, v === true ? "" : v);
  }
}

/** A large button. @param {string} text @param {() => void} act @param {Attrs} [attrs] @returns {HTMLButtonElement} */
export const button = (text, act, attrs = {}) =>
  h("button", { type: "button", class: "ra-button", ...attrs, onclick: act }, text);

/** Japanese text. @param {string} text @param {string} [cls] */
export const ja = (text, cls = "ra-ja") => h("span", { lang: "ja", class: cls, text });

/** Give a mark without words of its own a name, which a pointer is shown, too. @param {Element} e @param {string} words */
export const named = (e, words) => dress(e, { "aria-label": words, title: words });

/** A text field that tells Python only when the hand rests: on Enter or when left, never inside a composition,
 * and is never written to while it has the focus.
 * @param {string} label @param {(text:string)=>void} commit @param {Attrs} [attrs] */
export function field(label, commit, attrs = {}) {
  const area = attrs.rows;
  const made = h(area ? "textarea" : "input", {
    class: "ra-input",
    autocomplete: "off",
    "aria-label": label,
    ...(area ? {} : { type: "text" }),
    ...attrs,
  });
  const input = /** @type {HTMLInputElement} */ (made); // an area has all that is asked of a line here
  let composing = false,
    told = input.value;
  const tell = () => {
    if (!composing && input.value !== told) {
      told = input.value;
      commit(input.value);
    }
  };
  input.addEventListener("compositionstart", () => {
    composing = true;
  });
  input.addEventListener("compositionend", () => {
    composing = false;
  });
  input.addEventListener("change", tell);
  input.addEventListener("blur", tell);
  input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.isComposing || e.keyCode === 229) return; // the Enter that ends a conversion is not ours
    if (e.key === "Enter" && !area) {
      tell();
      if (attrs.onenter2) attrs.onenter2(input.value);
    }
  });
  const put = (/** @type {string} */ v) => {
    if (document.activeElement !== input && !composing) {
      input.value = v ?? "";
      told = input.value;
    }
  };
  return {
    input,
    put,
    composing: () => composing,
    clear() {
      input.value = "";
      told = "";
    },
    box: h("label", { class: "ra-field" }, h("span", { class: "ra-label", text: label }), input),
  };
}

/** A choice from a list. @param {string} label @param {[string,string][]} options value, words
 * @param {string} value @param {(v:string)=>void} pick @param {Attrs} [attrs] */
export function choice(label, options, value, pick, attrs = {}) {
  const sel = h(
    "select",
    { class: "ra-input", "aria-label": label, ...attrs, onchange: () => held.pick(sel.value) },
    options.map(([v, t]) => {
      const o = h("option", { text: t });
      o.value = v;
      o.selected = v === value;
      return o;
    }),
  );
  const box = h("label", { class: "ra-field" }, h("span", { class: "ra-label", text: label }), sel);
  const held = { said: JSON.stringify([label, options, value, attrs]), select: sel, pick };
  choices.set(box, held);
  return box;
}

/** What is chosen in a choice. @param {HTMLElement} box */
export const chosen = (box) => box.querySelector("select")?.value ?? "";

/** One of a few, as a row of buttons (radio group, arrow keys).
 * @param {string} label @param {[string,string][]} options @param {string} value @param {(v:string)=>void} pick */
export function oneOf(label, options, value, pick, key = label) {
  const box = h("div", { role: "radiogroup", "aria-label": label, class: "ra-oneof" });
  const any = options.some(([v]) => v === value);
  options.forEach(([v, t], i) =>
    box.append(
      h(
        "button",
        {
          type: "button",
          role: "radio",
          class: "ra-button",
          "data-key": `${key}-${v}`,
          "aria-checked": String(v === value),
          tabindex: v === value || (!any && i === 0) ? "0" : "-1",
          onclick: () => pick(v),
          onkeydown: (/** @type {KeyboardEvent} */ e) => {
            const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
            if (!step) return;
            e.preventDefault();
            const next = (i + step + options.length) % options.length;
            /** @type {HTMLElement} */ (box.children[next]).focus();
            pick(options[next][0]);
          },
        },
        t,
      ),
    ),
  );
  return box;
}

/** Arrow keys walk a list or grid of focusable items, of which one is in the tab order.
 * @param {HTMLElement} box @param {string} what selector of the items @param {AbortSignal} signal */
export function roving(box, what, signal) {
  box.addEventListener(
    "keydown",
    (e) => {
      const items = /** @type {HTMLElement[]} */ ([...box.querySelectorAll(what)]);
      const at = items.indexOf(/** @type {HTMLElement} */ (document.activeElement));
      if (at < 0) return;
      const here = items[at].getBoundingClientRect();
      const row = items.filter((i) => Math.abs(i.getBoundingClientRect().top - here.top) < 5).length || 1;
      const to = {
        ArrowRight: at + 1,
        ArrowLeft: at - 1,
        ArrowDown: at + row,
        ArrowUp: at - row,
        Home: 0,
        End: items.length - 1,
      }[e.key];
      if (to === undefined || to < 0 || to >= items.length) return;
      e.preventDefault();
      items[at].tabIndex = -1;
      items[to].tabIndex = 0;
      items[to].focus();
    },
    { signal },
  );
}

/** The word for a confidence 0..1. @param {number} c @param {[string, number][]} words word and its upper bound */
export const wordFor = (c, words) => (words.find(([, top]) => c <= top + 1e-9) ?? words[words.length - 1])[0];

/** A confidence: slider, number and word; `done` when the hand lets go.
 * @param {string} label @param {number} value @param {[string, number][]} words @param {(v:number)=>void} done @param {string} key
 * @param {boolean} [bare] number only, where the words stand beside it */
export function confidence(label, value, words, done, key, bare = false) {
  const out = h("output", { class: "ra-conf-word" });
  const tell = (/** @type {number} */ v) => {
    out.textContent = bare ? v.toFixed(2) : `${wordFor(v, words)} ${v.toFixed(2)}`;
    range.setAttribute("aria-valuetext", `${wordFor(v, words)} ${v.toFixed(2)}`);
  };
  const range = h("input", {
    type: "range",
    min: "0",
    max: "1",
    step: "0.05",
    "aria-label": label,
    "data-key": key,
    class: "ra-range",
    oninput: () => tell(+range.value),
    onchange: () => done(+range.value),
  });
  range.value = String(value);
  tell(value);
  return h("div", { class: "ra-conf" }, range, out);
}

/** A section that folds. @param {string} title @param {Kid[]} kids @param {boolean} [open]
 * @param {Attrs} [attrs] a `name` lets one of several be open; `key` is the heading's */
export function fold(title, kids, open = false, { key, ...attrs } = {}) {
  return h("details", { class: "ra-fold", open, ...attrs }, h("summary", { text: title, "data-key": key }), ...kids);
}

/** A table. @param {string[]} heads words above the columns @param {(string|Node)[][]} rows texts or elements
 * @param {Attrs} [attrs] */
export function table(heads, rows, attrs = {}) {
  const cell = (/** @type {string|Node} */ x) => (x instanceof Node ? h("td", {}, x) : h("td", { text: x }));
  const top = h(
    "tr",
    {},
    heads.map((x) => h("th", { scope: "col", text: x })),
  );
  return h(
    "table",
    attrs,
    h("thead", {}, top),
    h(
      "tbody",
      {},
      rows.map((r) => h("tr", {}, r.map(cell))),
    ),
  );
}
