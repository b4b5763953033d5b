// The frame of every panel: the way to Python and back, its state made whole, keys held, sentences told, the letters' font.
import { button, h } from "./kit.js";
import { language, t } from "./texts.js";

/** @typedef {{get(k:string):any,set(k:string,v:unknown):void,save_changes():void,send(m:object,cb?:unknown,buffers?:ArrayBuffer[]):void,
 *  on(n:string,f:Function):void,off(n:string,f:Function):void,
 *  widget_manager:{get_model(id:string):Promise<Model|undefined>}}} Model */
/** @typedef {{model:Model, el:HTMLElement, signal:AbortSignal}} Given */
/** @typedef {import("./messages.js").Told} Told */
/** The way to Python: what may be asked of a panel is a table of its own (`messages.js`), with what each asking needs.
 * @template A
 * @typedef {<K extends keyof A & string>(what: K, ...with_: {} extends A[K] ? [args?: A[K], buffers?: ArrayBuffer[]]
 *   : [args: A[K], buffers?: ArrayBuffer[]]) => Promise<void>} Ask */
/** The frame of a panel: `A` is what it may be asked, `S` the state that Python keeps of it.
 * @template A, S
 * @typedef {{root: HTMLElement, body: HTMLElement, live: HTMLElement, fault: HTMLElement, wait: HTMLElement,
 *   say: (text: string, kind?: string) => void, ask: Ask<A>,
 *   on: <K extends keyof Told>(type: K, f: (m: Told[K], buffers: DataView<ArrayBuffer>[]) => void) => void,
 *   show: (f: (state: S) => void) => void, letters: () => Promise<void>}} Panel */
export const FAMILY = "Readaid Letters";
/** The text face of every screen, Latin and Japanese. */
const FACE = "Readaid Text";
let fontAsked = /** @type {Promise<void>|null} */ (null);
let faceAsked = /** @type {Promise<void>|null} */ (null);

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
  for (const kind of ["keyup", "keypress"]) root.addEventListener(kind, (e) => e.stopPropagation(), { signal });
  root.addEventListener(
    "mousedown",
    (e) => {
      e.stopPropagation();
      const kind = /** @type {HTMLElement} */ (e.target);
      if (!kind.closest("button,input,select,textarea,a,summary,label,[tabindex]:not([tabindex='-1'])"))
        ground.focus({ preventScroll: true });
    },
    { signal },
  );
}

/** A state of any panel, known by its entries. @typedef {Record<string, unknown>} Known */
/** Rows of a list in a state; each has an id. @param {unknown} list @returns {(Known & {id: string})[]} */
const rowsOf = (list) => /** @type {(Known & {id: string})[]} */ (list);

/** What Python told laid on what was known.
 * @param {Known} known @param {Omit<Told["state"], "type"|"n">} m @returns {Known} */
export function patched(known, m) {
  if (m.whole) return m.whole;
  const now = { ...known, ...m.put };
  for (const name of m.gone ?? []) delete now[name];
  for (const [name, { changed, order, counted }] of Object.entries(m.rows ?? {})) {
    const fresh = new Map(rowsOf(changed).map((r) => [r.id, r]));
    const rows = rowsOf(known[name]).map((r) => fresh.get(r.id) ?? r);
    if (order) {
      const gone = new Map(rows.splice(order.at, order.gone).map((r) => [r.id, r]));
      const there = (/** @type {string} */ id) => {
        const row = fresh.get(id) ?? gone.get(id);
        if (!row) throw new RangeError(`${name}/${id}`); // a row that was never told is not left out unsaid
        return row;
      };
      rows.splice(order.at, 0, ...order.ids.map(there));
    }
    for (const [k, { at, values }] of Object.entries(counted))
      values.forEach((v, i) => {
        const r = rows[at + i];
        if (r[k] !== v) rows[at + i] = { ...r, [k]: v };
      });
    now[name] = rows;
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
        ? [h("span", { text }), button(t`Close`, () => fault.replaceChildren(), { class: "ra-button ra-small" })]
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

/** What is said when an answer is late. @param {number} age in ms */
function waited(age) {
  if (age <= 1200) return "";
  if (age <= 30000) return t`Busy with earlier work; your last step waits its turn.`;
  return document.body.classList.contains("readaid-desk")
    ? t`No answer for a while. Load the page again if it stays so; nothing saved is lost.`
    : t`No answer for a while. If the page was restarted, run it again from the Run menu (Run All Cells); nothing saved is lost.`;
}

/** A message as it comes: an answer, a sentence, or one of the kinds that are told.
 * @typedef {{ack?: number, ok?: boolean, say?: string, kind?: string, type?: keyof Told}} Heard */

/** The way to Python: askings with numbers, their answers, a word where they wait.
 * @param {Model} model @param {HTMLElement} root @param {HTMLElement} wait @param {AbortSignal} signal @param {(m: Heard, step: boolean) => void} heard */
function line(model, root, wait, signal, heard) {
  let seq = 0;
  const pending = /** @type {Map<number, {at:number, done:()=>void, step:boolean}>} */ (new Map());
  const handlers = /** @type {Record<string, Function[]>} */ ({});
  const quiet = ["tiles", "font", "face", "select", "shape", "around", "crops", "plane", "overview", "whole"];
  /** A sign of life in the frame of the gesture itself: whoever asked sees at once that it was heard. */
  const alive = () =>
    root.toggleAttribute(
      "data-step",
      [...pending.values()].some((p) => p.step),
    );
  const ask = (
    /** @type {string} */ what,
    /** @type {object} */ args = {},
    /** @type {ArrayBuffer[]|undefined} */ buffers = undefined,
  ) =>
    new Promise((/** @type {(v:void)=>void} */ done) => {
      const n = ++seq;
      pending.set(n, { at: performance.now(), done, step: !quiet.includes(what) });
      root.dataset.pending = String(pending.size);
      alive();
      try {
        model.send({ do: what, n, ...args }, undefined, buffers);
      } catch {
        /* the kernel has gone: `wait` tells it */
      }
    });
  const onMessage = (/** @type {Heard} */ m, /** @type {DataView<ArrayBuffer>[]} */ buffers) => {
    if (m.ack !== undefined) {
      const p = pending.get(m.ack);
      pending.delete(m.ack);
      root.dataset.pending = String(pending.size);
      alive();
      heard(m, Boolean(p?.step));
      p?.done();
    } else heard(m, false);
    for (const f of handlers[m.type ?? ""] ?? []) f(m, buffers);
  };
  model.on("msg:custom", onMessage);
  const clock = setInterval(() => {
    const age = pending.size ? performance.now() - Math.min(...[...pending.values()].map((p) => p.at)) : 0;
    wait.textContent = waited(age);
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
 * @param {Model} model @param {ReturnType<typeof line>} way */
function store(model, way) {
  let state = model.get("state"),
    told = model.get("told");
  const painters = /** @type {Function[]} */ ([]);
  way.on("state", (/** @type {Told["state"]} */ m) => {
    if (!m.whole && m.n !== told + 1) {
      if (m.n > told) way.ask("whole", { told: -1 });
      return;
    }
    told = m.n;
    state = patched(state, m);
    for (const f of painters) f(state);
  });
  way.ask("whole", { told }); // what was sent before this page listened is lost
  return (/** @type {Function} */ f) => {
    painters.push(f);
    f(state);
  };
}

/** Taking back and doing again by keys, from anywhere but a field.
 * @param {HTMLElement} root @param {(what: string) => void} ask @param {AbortSignal} signal */
function wayBack(root, ask, signal) {
  const fields = "input:not([type=range],[type=checkbox]),textarea,select,[data-own-undo]";
  const back = (/** @type {KeyboardEvent} */ e) => {
    const key = e.key.toLowerCase();
    if (!(e.ctrlKey || e.metaKey) || e.isComposing || (key !== "z" && key !== "y")) return;
    if (/** @type {HTMLElement} */ (e.target).closest(fields)) return;
    e.preventDefault();
    ask(key === "y" || e.shiftKey ? "redo" : "undo");
  };
  root.addEventListener("keydown", back, { signal });
}

/** Lay a face from its bytes. A browser that is leaving the page, or is short of memory, refuses bytes it took before:
 * then the next family stands in, and the page goes on.
 * @param {string} family @param {DataView<ArrayBuffer>} b */
async function laid(family, b) {
  try {
    document.fonts.add(await new FontFace(family, b.buffer.slice(b.byteOffset, b.byteOffset + b.byteLength)).load());
  } catch (fault) {
    console.warn(`${family}: ${fault}`);
  }
}

/** What a font needs of the way to Python.
 * @typedef {{ask: (what: "face"|"font") => void, on: (what: "face"|"font", f: (m: unknown, buffers: DataView<ArrayBuffer>[]) => void) => void}} Way */
/** A font that Python hands over as bytes, once a page. @param {Way} way @param {"face"|"font"} what @param {string} family */
function fetched(way, what, family) {
  if ([...document.fonts].some((f) => f.family.includes(family))) return Promise.resolve();
  return new Promise((/** @type {(v:void)=>void} */ done) => {
    way.on(what, (/** @type {unknown} */ _m, /** @type {DataView<ArrayBuffer>[]} */ buffers) =>
      laid(family, buffers[0]).then(done),
    );
    way.ask(what);
  });
}

/** The text face is asked for once, after the first pictures: until it is here the next family stands in.
 * @param {Way} way */
export function textFace(way) {
  faceAsked ??= new Promise((done) => setTimeout(done, 1500)).then(() => fetched(way, "face", FACE));
  return faceAsked;
}

/** Set up a panel: root, live region, the way to Python with "still waiting" told, and no key let through to the notebook.
 * @template A, S @param {Given} given @param {string} cls @param {string} title @returns {Panel<A, S>} */
export function panel({ model, el, signal }, cls, title) {
  const live = h("div", { class: "ra-live", role: "status", "aria-live": "polite" });
  const fault = h("div", { class: "ra-fault", role: "alert" });
  const wait = h("div", { class: "ra-wait", "aria-live": "polite" });
  const body = h("div", { class: "ra-body" });
  const root = h(
    "section",
    { class: `ra ${cls}`, lang: language(), tabindex: "-1", "aria-label": title },
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
  wayBack(root, way.ask, signal);
  const letters = () => (fontAsked ??= fetched(way, "font", FAMILY));
  const ask = /** @type {Ask<A>} */ (way.ask);
  return { root, body, live, fault, wait, say: words.say, ask, on: way.on, letters, show: store(model, way) };
}
