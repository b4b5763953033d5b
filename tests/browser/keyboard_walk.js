// Lays one panel in the page and uses every control that takes the focus, as a keyboard does; returns what was asked.
async ({ module, styles, values, stage, opening }) => {
  const bytes = (text) => new DataView(Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer);
  const asked = {},
    heard = {},
    unreached = [];
  let at = "by itself",
    reading = 0; // how long a file that was chosen takes to be read
  const model = {
    get: (k) => (values[k]?.bytes === undefined ? values[k] : bytes(values[k].bytes)),
    set: () => {},
    save_changes: () => {},
    on: (name, f) => (heard[name] ??= []).push(f),
    off: () => {},
    send: (m) => {
      if (at !== "by itself") asked[m.do] ??= at;
      queueMicrotask(() => tell({ ack: m.n, ok: true }));
    },
  };
  const tell = (m) => (heard["msg:custom"] ?? []).forEach((f) => f(m, []));
  const bench = document.createElement("div");
  bench.className = `ra-bench ra-at-${stage}`;
  const sheet = document.createElement("style");
  sheet.textContent = `${styles} .ra-bench { width: 1400px; height: 900px; display: block; } .pb-mat, .pb-view { width: 900px; height: 600px; }`;
  const el = document.createElement("div");
  el.className = "jp-OutputArea";
  bench.append(el);
  document.body.replaceChildren(sheet, bench);
  const address = URL.createObjectURL(new Blob([module], { type: "text/javascript" }));
  const life = new AbortController();
  await (await import(address)).default.render({ model, el, signal: life.signal });
  const rest = (ms = 0) =>
    new Promise((done) => {
      if (ms) return setTimeout(done, ms);
      const way = new MessageChannel(); // a timer of nothing waits four milliseconds
      way.port1.onmessage = () => done();
      way.port2.postMessage(0);
    });
  await rest(30);
  if (!opening) return { asked, unreached }; // it was only to be laid
  for (const folded of el.querySelectorAll(".ra-folder[aria-expanded=false]")) folded.click(); // a button like others
  for (const key of opening) {
    el.querySelector(`[data-key="${key}"]`).click();
    await rest();
  }

  const wanted = "button,summary,input:not([type=file]),select,textarea,[tabindex='0'],[role=option],a[href]";
  const words = (e) =>
    (e.getAttribute("aria-label") || e.labels?.[0]?.innerText || e.innerText || e.title || e.className || e.tagName)
      .trim()
      .replace(/\s+/g, " ")
      .slice(0, 60);
  const mark = (e) => `${e.tagName} ${e.dataset.key ?? ""} ${e.dataset.mode ?? ""} ${e.className} ${words(e)}`;
  const press = (e, key, more = {}) =>
    e.dispatchEvent(new KeyboardEvent("keydown", { key, code: more.code ?? key, bubbles: true, cancelable: true, ...more }));
  const shown = (e) => e.checkVisibility?.({ checkVisibilityCSS: true }) && !e.disabled;
  const type = (e, text) => {
    e.value = text;
    e.dispatchEvent(new InputEvent("input", { bubbles: true, data: text }));
  };
  /** Whether the keyboard gets there: by the tab key, or by arrows from what of its group the tab key reaches. */
  const reached = (e) => {
    at = words(e);
    if (e.matches(".pb-lamp, .pb-zone")) return true; // by digits; by Page Up, Page Down and Home
    if (e.tabIndex >= 0) {
      e.focus();
      return document.activeElement === e;
    }
    const group = e.closest("[role=radiogroup],[role=tablist],[role=listbox],[role=grid],[role=toolbar],[role=group],[role=list]");
    const first = [...(group?.querySelectorAll("[tabindex='0'],button:not([tabindex='-1'])") ?? [])].find(shown);
    const been = [first],
      names = new Set();
    for (const from of been) {
      for (const way of ["ArrowRight", "ArrowDown", "ArrowLeft", "ArrowUp"]) {
        if (!from?.isConnected || !group.contains(from)) break;
        from.focus();
        press(from, way);
        const there = document.activeElement;
        if (there === e) return true;
        if (!group.contains(there) || names.has(mark(there))) continue;
        names.add(mark(there)); // a choice lays its row anew: the same one is another element then
        been.push(there);
      }
    }
    return false;
  };
  const use = async (e) => {
    if (!reached(e)) {
      if (e.isConnected) unreached.push(mark(e));
      return;
    }
    if (e.tagName === "SELECT") {
      for (const o of [...e.options].slice(0, 8)) {
        if (!e.isConnected) break;
        e.value = o.value;
        e.dispatchEvent(new Event("change", { bubbles: true }));
        await rest();
      }
    } else if (e.tagName === "TEXTAREA" || (e.tagName === "INPUT" && !["checkbox", "radio", "file"].includes(e.type))) {
      const text = { range: String(+e.value > +e.min ? e.min : e.max), number: "0.5", date: "2026-11-25" }[e.type] ?? "1";
      for (const one of [text, ""]) {
        if (!e.isConnected) break;
        type(e, one);
        press(e, "Enter");
        e.dispatchEvent(new Event("change", { bubbles: true }));
        await rest();
      }
    } else if (["BUTTON", "SUMMARY", "INPUT", "A"].includes(e.tagName)) e.click();
    else for (const key of ["Enter", " "]) press(e, key);
    await rest(reading);
    reading = 0;
    await point();
  };
  /** Points on the photograph by the cross: arrows move it, Enter sets one. */
  const point = async () => {
    const view = el.querySelector(".pb-view");
    if (!/^(scale|square|sphere|note|bend)$/.test(view?.dataset.mode ?? "")) return;
    view.focus();
    for (const way of ["ArrowLeft", "ArrowDown", "ArrowRight", "ArrowRight"]) {
      if (!/^(scale|square|sphere|note|bend)$/.test(view.dataset.mode)) break;
      press(view, way, { shiftKey: true });
      press(view, " ");
      if (el.querySelector(".pb-side input:focus, [data-key=pin-text]:focus")) break;
    }
    if (view.dataset.mode === "bend") press(view, "Enter");
    await rest();
  };
  /** A button that opens the system's own window for files: one is chosen there. */
  HTMLInputElement.prototype.click = function () {
    if (this.type !== "file") return HTMLElement.prototype.click.call(this);
    const held = new DataTransfer();
    held.items.add(new File(["name\n"], "one.csv"));
    this.files = held.files;
    this.dispatchEvent(new Event("change", { bubbles: true }));
    reading = 20;
  };
  const keys = "a b c d e f g h i j k l m n o p q r s t u v w x y z G T M / \\ [ ] + - 0 1 2 ?".split(" ");
  const named = "Enter Escape Delete Backspace PageDown PageUp Home End ArrowLeft ArrowRight ArrowUp ArrowDown".split(" ");
  // What a press brought is used before the rest, or the next press would put it away; what closes comes last.
  const done = new Set(),
    kinds = new Map();
  let before = new Set();
  const closing = (e) => e.matches("details[open] > summary") || /close|^fold-|^(more|less|help|piece|log|mode-hand|clear)$/.test(e.dataset.key ?? "");
  const tab = (e) => e.role === "tab" || /^(way|stage|mode|look)-/.test(e.dataset.key ?? "");
  const fresh = (e) => (closing(e) ? 3 : tab(e) ? 2 : before.has(mark(e)) ? 1 : 0);
  for (let round = 0; round < 300; round++) {
    // parts of which one is open: who works with them opens one again, the walk presses each heading once
    for (const part of el.querySelectorAll("details[name]")) part.removeAttribute("name");
    const open = [...el.querySelectorAll(wanted)].filter((e) => shown(e) && !done.has(mark(e)));
    if (!open.length) break;
    const next = open.reduce((best, e) => (fresh(e) < fresh(best) ? e : best));
    before = new Set(open.map(mark));
    done.add(mark(next));
    const name = (next.dataset.key ?? "").replace(/[0-9a-f]{8}-[0-9a-f-]{27,}/g, "*").replace(/\d+/g, "#"),
      kind = name || `${next.tagName} ${next.className} ${next.type ?? ""}`;
    kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
    if (kinds.get(kind) < (name ? 3 : 5)) await use(next);
  }
  // The keys of what is no field: on the first of each kind of element that takes the focus.
  for (const kind of [".ra", ".pb-view", ".pb-zone", ".cp-type", ".sh-sign", ".np-sheet"])
    for (const key of [...named, " ", ...keys]) {
      for (const more of key.startsWith("Arrow") ? [{}, { shiftKey: true }, { altKey: true }] : [{}, { ctrlKey: true }]) {
        const e = [...el.querySelectorAll(kind)].find(shown);
        if (!e) continue;
        e.focus();
        at = `${[more.ctrlKey && "Ctrl", more.altKey && "Alt", more.shiftKey && "Shift", key].filter(Boolean).join("+")} on ${words(e)}`;
        press(e, key, { ...more, code: /^\d$/.test(key) ? `Digit${key}` : key });
      }
    }
  await rest(el.querySelector(".pb-zone") ? 750 : 160); // a search when the typing rests, a mark moved by the arrows is told when the hand rests
  life.abort();
  return { asked, unreached };
};
