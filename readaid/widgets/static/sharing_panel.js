// A second reader: the copy that goes out, the copy that comes back, how far readers agree; checks and the archive.
import { button, field, fold, h, panel, refill } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { signal } = given;
  const { root, body, ask, show, on } = panel(given, "hp", "Second reader, checks, archive");
  let st = /** @type {any} */ ({});
  const urls = /** @type {string[]} */ ([]);
  const files = h("div", { class: "hp-files" });
  const file = h("input", { type: "file", accept: ".zip", class: "ra-sr", tabindex: "-1", "aria-label": "Reader's copy to take back in", onchange: () => take(file.files[0]) });
  const out = h("div", { class: "ra-group" }), back = h("div", {}), agree = h("div", {}), check = h("div", {});
  body.append(h("h3", { text: "Give it to a second reader" }), h("p", { class: "ra-hint", text: "A blind copy hides your letters, readings and fillers, so that the second reader sees with their own eyes. The worksheet is for a reader without a computer." }), out, files,
    h("h3", { text: "Take a copy back in" }), h("div", { class: "ra-group" }, button("Choose the copy …", () => file.click(), { "data-key": "take" }), file), back,
    h("h3", { text: "How far readers agree" }), agree, h("h3", { text: "Checks and archive" }), check);
  signal.addEventListener("abort", () => urls.forEach((u) => URL.revokeObjectURL(u)));

  const PART = 1 << 20;
  async function take(/** @type {File|undefined} */ f) {
    if (!f) return;
    const id = String(Math.random()).slice(2);
    for (let i = 0, n = Math.max(1, Math.ceil(f.size / PART)); i < n; i++) await ask("receive", { id, name: f.name, at: i, of: n }, [await f.slice(i * PART, (i + 1) * PART).arrayBuffer()]);
    file.value = "";
  }
  on("file", (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    let link = null;
    if (buffers?.[0]?.byteLength) {
      const url = URL.createObjectURL(new Blob([buffers[0]], { type: m.mime }));
      urls.push(url);
      link = h("a", { class: "ra-button ra-small hp-save", download: m.name, text: `Save ${m.name}` });
      link.href = url;
    }
    files.prepend(h("p", {}, h("b", { text: `${m.what}: ` }), h("code", { text: m.path }), ` (${m.size}) `, link));
    root.dataset.written = m.name;
  });
  const table = (/** @type {string[]} */ head, /** @type {any[][]} */ rows) => h("table", {}, h("thead", {}, h("tr", {}, head.map((x) => h("th", { scope: "col", text: x })))), h("tbody", {}, rows.map((r) => h("tr", {}, r.map((x) => h("td", { lang: "ja", text: x }))))));
  show((now) => {
    if (!now?.ready) return;
    st = now;
    const go = (/** @type {string} */ word, /** @type {string} */ what, args = {}, main = false) => button(word, () => ask(what, args), { disabled: Boolean(st.busy), "data-key": `${what}-${JSON.stringify(args)}`, class: main ? "ra-button ra-main" : "ra-button" });
    refill(out, go("Blind copy", "copy", { blind: true }, true), go("Full copy", "copy", { blind: false }), go("Worksheet to print", "worksheet"), st.busy ? h("span", { class: "ra-group" }, h("progress", { "aria-label": st.busy }), st.busy) : null);
    refill(back, st.merged ? [h("p", { text: st.merged.words }), st.merged.conflicts.length ? table(["Where", "What", "Before", "Ours (stands)", "Theirs"], st.merged.conflicts) : null, st.merged.notices.map((/** @type {string} */ n) => h("p", { class: "ra-caution", text: n }))] : h("p", { class: "ra-hint", text: "Nothing is lost by it: where both changed the same thing, yours stands and both are listed." }));
    refill(agree, h("div", { class: "ra-group" }, go("Compare the readers", "agreement"), go("How sure were they rightly?", "calibration")), st.agreement.map((/** @type {string} */ w) => h("p", { text: w })), st.calibration.length ? table(["Reader", "Signs settled", "Brier score", "In words"], st.calibration) : null);
    refill(check, h("div", { class: "ra-group" }, go("Check register and photographs", "check"), go("Make an archive (BagIt)", "archive")), st.checked === null ? null : st.checked.length ? st.checked.map((/** @type {string} */ c) => h("p", { class: "ra-caution", text: c })) : h("p", { text: "All is as it was: every revision and every photograph." }));
  });
}

export default { render };
