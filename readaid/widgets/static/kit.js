// What every panel shares: elements, the way to Python, keys, live messages, the letters' font.
// Plain ESM, no build step, no address to load from: Python hands this file over as text.

/** @typedef {{get(k:string):any,set(k:string,v:any):void,save_changes():void,send(m:any,cb?:any,buffers?:ArrayBuffer[]):void,
 *  on(n:string,f:Function):void,off(n:string,f:Function):void}} Model */
/** @typedef {{model:Model, el:HTMLElement, signal:AbortSignal}} Given */
/** @typedef {{root:HTMLElement, body:HTMLElement, say:(text:string, kind?:string)=>void,
 *  ask:(what:string, args?:object, buffers?:ArrayBuffer[])=>Promise<void>, on:(type:string, f:Function)=>void,
 *  show:(f:(state:any)=>void)=>void, letters:()=>Promise<void>}} Panel */

const NS = "http://www.w3.org/2000/svg";
export const FAMILY = "Readaid Letters";

/** Make an element. Attributes: `on*` are listeners, `text` is text, false and null are left out.
 * @param {string} tag @param {Record<string, any>} [attrs] @param {...(Node|string|null|false|undefined|(Node|string)[])} kids
 * @returns {any} */
export function h(tag, attrs = {}, .../** @type {any[]} */ kids) {
  const e = document.createElement(tag);
  dress(e, attrs);
  for (const k of kids.flat(Infinity))
    if (k !== null && k !== undefined && k !== false) e.append(/** @type {any} */ (k));
  return e;
}

/** The same for SVG. @param {string} tag @param {Record<string, any>} [attrs] @param {...any} kids @returns {any} */
export function s(tag, attrs = {}, ...kids) {
  const e = document.createElementNS(NS, tag);
  dress(e, attrs);
  for (const k of kids.flat(Infinity)) if (k) e.append(k);
  return e;
}

function dress(e, attrs) {
  for (const [k, v] of Object.entries(attrs)) {
    if (v === null || v === undefined || v === false) continue;
    if (k.startsWith("on")) e.addEventListener(k.slice(2), v);
    else if (k === "text") e.textContent = v;
    else if (k === "value" || k === "checked" || k === "disabled" || k === "open") e[k] = v;
    else e.setAttribute(k, v === true ? "" : v);
  }
}

/** A large button. @param {string} text @param {() => void} act @param {Record<string, any>} [attrs] @returns {HTMLButtonElement} */
export const button = (text, act, attrs = {}) =>
  h("button", { type: "button", class: "ra-button", ...attrs, onclick: act }, text);

/** Japanese text. @param {string} text @param {string} [cls] */
export const ja = (text, cls = "ra-ja") => h("span", { lang: "ja", class: cls, text });

/** Replace what is inside, but keep the focus where it was (elements are known by `data-key`) or at least near.
 * @param {Element} box @param {...any} kids */
export function refill(box, ...kids) {
  const was = /** @type {HTMLElement|null} */ (document.activeElement);
  const key = was && box.contains(was) ? was.dataset.key : null;
  box.replaceChildren(...kids.flat(Infinity).filter(Boolean));
  if (key) {
    const again = /** @type {HTMLElement|null} */ (box.querySelector(`[data-key="${CSS.escape(key)}"]`));
    if (again) again.focus({ preventScroll: true });
    else if (document.activeElement === document.body)
      /** @type {HTMLElement|null} */ (box.closest("[tabindex]"))?.focus({ preventScroll: true }); // what had the focus is gone: the keys still belong here
  }
}

/** A text field that tells Python only when the hand rests: on Enter or when left, never inside a composition,
 * and is never written to while it has the focus.
 * @param {string} label @param {(text:string)=>void} commit @param {Record<string, any>} [attrs] */
export function field(label, commit, attrs = {}) {
  const area = attrs.rows;
  const input = h(area ? "textarea" : "input", {
    class: "ra-input",
    autocomplete: "off",
    "aria-label": label,
    ...(area ? {} : { type: "text" }),
    ...attrs,
  });
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
 * @param {string} value @param {(v:string)=>void} pick @param {Record<string, any>} [attrs] */
export function choice(label, options, value, pick, attrs = {}) {
  const sel = h(
    "select",
    { class: "ra-input", "aria-label": label, ...attrs, onchange: () => pick(sel.value) },
    options.map(([v, t]) => {
      const o = h("option", { text: t });
      o.value = v;
      o.selected = v === value;
      return o;
    }),
  );
  return h("label", { class: "ra-field" }, h("span", { class: "ra-label", text: label }), sel);
}

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

let fontAsked = /** @type {Promise<void>|null} */ (null);

/** Letters that stay the notebook's own: saving and finding. @param {KeyboardEvent} e */
const notebooks = (e) => (e.ctrlKey || e.metaKey) && !e.shiftKey && !e.altKey && "sf".includes(e.key.toLowerCase());

/** No key and no press of ours reaches the notebook: it listens in the bubbling phase for single letters that delete and
 * insert cells. A click on empty ground leaves the focus in the panel, or the next letter would go there.
 * @param {HTMLElement} root @param {HTMLElement} ground what takes the focus @param {AbortSignal} signal */
export function guard(root, ground, signal) {
  root.addEventListener(
    "keydown",
    (e) => {
      if (notebooks(e)) return;
      e.stopPropagation();
      if (e.key === "Enter" && (e.shiftKey || e.ctrlKey || e.metaKey)) e.preventDefault();
    },
    { signal },
  );
  for (const t of ["keyup", "keypress"]) root.addEventListener(t, (e) => e.stopPropagation(), { signal });
  root.addEventListener(
    "mousedown",
    (e) => {
      e.stopPropagation();
      const t = /** @type {HTMLElement} */ (e.target);
      if (!t.closest("button,input,select,textarea,a,summary,label,[tabindex]:not([tabindex='-1'])"))
        ground.focus({ preventScroll: true });
    },
    { signal },
  );
}

/** What Python told laid on what was known. @param {any} known @param {any} m @returns {any} */
export function patched(known, m) {
  if (m.whole) return m.whole;
  const now = { ...known, ...m.put };
  for (const name of m.gone) delete now[name];
  for (const [name, { changed, order, counted }] of Object.entries(/** @type {any} */ (m.rows))) {
    const rows = new Map(known[name].map((/** @type {any} */ r) => [r.id, r]));
    for (const r of changed) rows.set(r.id, r);
    now[name] = order ? order.map((/** @type {string} */ id) => rows.get(id)) : [...rows.values()];
    for (const [k, values] of Object.entries(counted ?? {}))
      now[name] = now[name].map((/** @type {any} */ r, /** @type {number} */ i) =>
        r[k] === values[i] ? r : { ...r, [k]: values[i] },
      );
  }
  return now;
}

/** Sentences of a panel: a quiet live region, and a fault that stays until it is read or a later step goes well.
 * @param {HTMLElement} live @param {HTMLElement} fault */
function teller(live, fault) {
  let at = 0;
  const say = (/** @type {string} */ text, kind = "info", now = 0) => {
    if (kind !== "error") {
      live.textContent = text;
      if (kind !== "quiet" && fault.textContent) fault.replaceChildren();
      return;
    }
    at = now;
    fault.replaceChildren(
      ...(text
        ? [h("span", { text }), button("Close", () => fault.replaceChildren(), { class: "ra-button ra-small" })]
        : []),
    );
  };
  return {
    say,
    well: (/** @type {number} */ step) => {
      if (step > at && fault.textContent) fault.replaceChildren();
    },
  };
}

/** The way to Python: askings with numbers, their answers, a word where they wait.
 * @param {Model} model @param {HTMLElement} root @param {HTMLElement} wait @param {AbortSignal} signal @param {(m:any, step:boolean)=>void} heard */
function line(model, root, wait, signal, heard) {
  let seq = 0;
  const pending = /** @type {Map<number, {at:number, done:()=>void, step:boolean}>} */ (new Map());
  const handlers = /** @type {Record<string, Function[]>} */ ({});
  const quiet = ["tiles", "font", "select", "shape", "around", "crops", "plane", "overview", "whole"];
  const ask = (/** @type {string} */ what, args = {}, buffers = undefined) =>
    new Promise((/** @type {(v:void)=>void} */ done) => {
      const n = ++seq;
      pending.set(n, { at: performance.now(), done, step: !quiet.includes(what) });
      root.dataset.pending = String(pending.size);
      try {
        model.send({ do: what, n, ...args }, undefined, buffers);
      } catch {
        /* the kernel has gone: `wait` tells it */
      }
    });
  const onMessage = (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    if (m.ack !== undefined) {
      const p = pending.get(m.ack);
      pending.delete(m.ack);
      root.dataset.pending = String(pending.size);
      heard(m, Boolean(p?.step));
      p?.done();
    } else heard(m, false);
    for (const f of handlers[m.type] ?? []) f(m, buffers);
  };
  model.on("msg:custom", onMessage);
  const clock = setInterval(() => {
    const age = pending.size ? performance.now() - Math.min(...[...pending.values()].map((p) => p.at)) : 0;
    wait.textContent =
      age > 30000
        ? "No answer for a while. If the page was restarted, run it again from the Run menu (Run All Cells); nothing saved is lost."
        : age > 1200
          ? "Busy with earlier work; your last step waits its turn."
          : "";
  }, 600);
  signal.addEventListener("abort", () => {
    clearInterval(clock);
    model.off("msg:custom", onMessage);
  });
  return {
    ask,
    on: (/** @type {string} */ type, /** @type {Function} */ f) => {
      (handlers[type] ??= []).push(f);
    },
    now: () => seq,
  };
}

/** The state Python keeps, made whole here from what it tells; `show` calls when something changed.
 * @param {Model} model @param {any} way */
function store(model, way) {
  let state = model.get("state"),
    told = model.get("told");
  const painters = /** @type {Function[]} */ ([]);
  way.on("state", (/** @type {any} */ m) => {
    if (!m.whole && m.n !== told + 1) {
      if (m.n > told) way.ask("whole", { told: -1 });
      return;
    }
    told = m.n;
    state = patched(state, m);
    for (const f of painters) f(state);
  });
  way.ask("whole", { told }); // what was sent before this page listened is lost
  return (/** @type {(s:any)=>void} */ f) => {
    painters.push(f);
    f(state);
  };
}

/** Set up a panel: root, live region, the way to Python with "still waiting" told, and no key let through to the notebook.
 * @param {Given} given @param {string} cls @param {string} title @returns {Panel} */
export function panel({ model, el, signal }, cls, title) {
  const live = h("div", { class: "ra-live", role: "status", "aria-live": "polite" });
  const fault = h("div", { class: "ra-fault", role: "alert" });
  const wait = h("div", { class: "ra-wait", "aria-live": "polite" });
  const body = h("div", { class: "ra-body" });
  const root = h(
    "section",
    { class: `ra ${cls}`, lang: "en", tabindex: "-1", "aria-label": title },
    h("h2", { class: "ra-title", text: title }),
    fault,
    body,
    h("div", { class: "ra-foot" }, live, wait),
  );
  el.append(root);
  guard(root, root, signal);
  const words = teller(live, fault);
  const way = line(model, root, wait, signal, (m, step) => {
    if (m.ack !== undefined && step && m.ok) words.well(m.ack); // a later step went well: the old fault is no longer news
    if (m.say !== undefined) words.say(m.say, m.kind, way.now());
  });
  root.addEventListener(
    "keydown",
    (e) => {
      // the way back, from anywhere but a field
      if (
        !(e.ctrlKey || e.metaKey) ||
        e.isComposing ||
        /** @type {HTMLElement} */ (e.target).closest(
          "input:not([type=range],[type=checkbox]),textarea,select,[data-own-undo]",
        )
      )
        return;
      const key = e.key.toLowerCase();
      if (key !== "z" && key !== "y") return;
      e.preventDefault();
      way.ask(key === "y" || e.shiftKey ? "redo" : "undo");
    },
    { signal },
  );
  const letters = () => {
    if ([...document.fonts].some((f) => f.family.includes(FAMILY))) return Promise.resolve();
    fontAsked ??= new Promise((done) => {
      way.on("font", async (/** @type {any} */ _m, /** @type {any[]} */ buffers) => {
        const b = buffers[0];
        const face = new FontFace(FAMILY, b.buffer ? b.buffer.slice(b.byteOffset, b.byteOffset + b.byteLength) : b);
        document.fonts.add(await face.load());
        done();
      });
      way.ask("font");
    });
    return fontAsked;
  };
  return { root, body, live, fault, wait, say: words.say, ask: way.ask, on: way.on, letters, show: store(model, way) };
}

/** A picture from bytes. @param {any} bytes @param {string} alt @param {string} [cls] @returns {HTMLImageElement} */
export function picture(bytes, alt, cls = "ra-picture") {
  const url = URL.createObjectURL(new Blob([bytes], { type: "image/png" }));
  const img = h("img", { alt, class: cls, onload: () => URL.revokeObjectURL(url) });
  img.src = url;
  return img;
}

/** A section that folds. @param {string} title @param {any[]} kids @param {boolean} [open] */
export function fold(title, kids, open = false) {
  return h("details", { class: "ra-fold", open }, h("summary", { text: title }), ...kids);
}
