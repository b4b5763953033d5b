// Widgets as the kernel keeps them: what each one's values are, and what stands on the page for it.
// Two kinds are known, a panel that brings its own module and a box that holds panels; more is not needed here.

/** @typedef {import("./window_wire.js").Message} Message
 * @typedef {import("./window_wire.js").WidgetData} WidgetData
 * @typedef {import("./panel_frame.js").Given} Given
 * @typedef {{el: HTMLElement, end: () => void}} View */

/** The values of a widget, and the way to its other half in the kernel. */
export class Model {
  /** @param {string} id @param {Record<string, any>} state @param {(data: object, buffers?: ArrayBuffer[]) => void} tell
   * @param {(id: string) => Model|undefined} other the other widgets of the kernel */
  constructor(id, state, tell, other) {
    this.id = id;
    /** A panel that shows another widget asks for it here, as anywidget has it. */
    this.widget_manager = { get_model: async (/** @type {string} */ wanted) => other(wanted) };
    this.state = state;
    this.tell = tell;
    /** @type {Set<string>} */
    this.changed = new Set();
    /** @type {Map<string, Set<Function>>} */
    this.listeners = new Map();
  }
  /** @param {string} name */
  get(name) {
    return this.state[name];
  }
  /** @param {string} name @param {unknown} value */
  set(name, value) {
    if (this.state[name] === value) return;
    this.state[name] = value;
    this.changed.add(name);
    this.fire(`change:${name}`, value);
  }
  save_changes() {
    if (!this.changed.size) return;
    const state = Object.fromEntries([...this.changed].map((name) => [name, this.state[name]]));
    this.changed.clear();
    this.tell({ method: "update", state, buffer_paths: [] });
  }
  /** @param {object} content @param {unknown} [_callbacks] @param {ArrayBuffer[]} [buffers] */
  send(content, _callbacks, buffers = []) {
    this.tell({ method: "custom", content }, buffers);
  }
  /** @param {string} name @param {Function} f */
  on(name, f) {
    if (!this.listeners.has(name)) this.listeners.set(name, new Set());
    this.listeners.get(name)?.add(f);
  }
  /** @param {string} name @param {Function} f */
  off(name, f) {
    this.listeners.get(name)?.delete(f);
  }
  /** @param {string} name @param {...unknown} values */
  fire(name, ...values) {
    for (const f of [...(this.listeners.get(name) ?? [])]) f(...values);
  }
  /** What the kernel says of this widget. @param {WidgetData} data @param {DataView[]} buffers */
  heard(data, buffers) {
    if (data.method === "custom") this.fire("msg:custom", data.content, buffers);
    if (data.method !== "update") return;
    const told = laid(data.state ?? {}, data.buffer_paths, buffers);
    Object.assign(this.state, told);
    for (const [name, value] of Object.entries(told)) this.fire(`change:${name}`, value);
    this.fire("change");
  }
}

/** Values with their bytes put where they belong. @param {Record<string, any>} state @param {(string|number)[][]} [paths] @param {DataView[]} [buffers] */
export function laid(state, paths = [], buffers = []) {
  paths.forEach((path, i) => {
    const last = path[path.length - 1];
    const holder = path.slice(0, -1).reduce((at, name) => at[name], state);
    holder[last] = buffers[i];
  });
  return state;
}

/** All widgets of a kernel. */
export class Widgets {
  /** @param {import("./window_kernel.js").Kernel} kernel */
  constructor(kernel) {
    this.kernel = kernel;
    /** @type {Map<string, Model>} */
    this.models = new Map();
  }

  /** A message of the kernel; what is not about widgets is passed over. @param {Message} message */
  take(message) {
    const { comm_id: id = "", data = {}, target_name: target } = message.content;
    const type = message.header.msg_type;
    if (type === "comm_open" && target === "jupyter.widget" && message.parent_header.session === this.kernel.session) {
      const state = laid(data.state ?? {}, data.buffer_paths, message.buffers);
      const tell = (/** @type {object} */ said, /** @type {ArrayBuffer[]|undefined} */ buffers) =>
        this.kernel.send("comm_msg", { comm_id: id, data: said }, buffers, { version: "2.1.0" });
      this.models.set(id, new Model(id, state, tell, (other) => this.models.get(other)));
    } else if (type === "comm_msg") this.models.get(id)?.heard(data, message.buffers ?? []);
    else if (type === "comm_close") this.models.delete(id);
  }

  /** What stands on the page for a widget. @param {string} id @returns {View} */
  view(id) {
    const model = this.models.get(id);
    if (!model) throw new Error(`no widget ${id}`);
    const el = document.createElement("div");
    const over = new AbortController();
    const classes = () => {
      el.className = (model.get("_dom_classes") ?? []).join(" ");
    };
    classes();
    model.on("change:_dom_classes", classes);
    over.signal.addEventListener("abort", () => model.off("change:_dom_classes", classes));
    if (model.get("_esm")) drawn(model, el, over.signal);
    else this.box(model, el, over.signal);
    return {
      el,
      end: () => {
        over.abort();
        el.remove();
      },
    };
  }

  /** A box: the views of its children in their order; one that stays is not made anew.
   * @param {Model} model @param {HTMLElement} el @param {AbortSignal} over */
  box(model, el, over) {
    const views = /** @type {Map<string, View>} */ (new Map());
    const lay = () => {
      const wanted = /** @type {string[]} */ ((model.get("children") ?? []).map(reference));
      for (const [id, view] of views)
        if (!wanted.includes(id)) {
          view.end();
          views.delete(id);
        }
      for (const id of wanted) if (!views.has(id)) views.set(id, this.view(id));
      wanted.forEach((id, i) => {
        const child = views.get(id)?.el;
        if (child && el.children[i] !== child) el.insertBefore(child, el.children[i] ?? null);
      });
    };
    lay();
    model.on("change:children", lay);
    over.addEventListener("abort", () => {
      model.off("change:children", lay);
      for (const view of views.values()) view.end();
    });
  }
}

/** Widgets name each other like this. @param {string} value */
const reference = (value) => value.replace("IPY_MODEL_", "");

/** @type {Map<string, Promise<{default: {render: (given: Given) => (() => void)|void|Promise<(() => void)|void>}}>>} */
const modules = new Map();
/** @type {Set<string>} */
const styles = new Set();

/** A panel draws itself: its style sheet once a page, its module once a text. @param {Model} model @param {HTMLElement} el
 * @param {AbortSignal} signal */
async function drawn(model, el, signal) {
  const css = model.get("_css") ?? "",
    text = model.get("_esm");
  if (css && !styles.has(css)) {
    styles.add(css);
    const sheet = document.createElement("style");
    sheet.textContent = css;
    document.head.append(sheet);
  }
  let module = modules.get(text);
  if (!module) {
    const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
    module = import(address);
    modules.set(text, module);
    module.finally(() => URL.revokeObjectURL(address));
  }
  const { default: widget } = await module;
  if (signal.aborted) return;
  const end = await widget.render({ model, el, signal });
  if (signal.aborted) end?.();
  else signal.addEventListener("abort", () => end?.());
}
