// A second reader: the copy that goes out, the copy that comes back, how far readers agree; checks and the archive.
import { button, h, panel, refill } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { signal } = given;
  const { root, body, ask, show, on } = panel(given, "hp", "Second reader, checks, archive");
  let st = /** @type {any} */ ({});
  const urls = /** @type {string[]} */ ([]);
  const files = /** @type {Record<string, HTMLElement>} */ ({
    out: h("div", { class: "hp-files" }),
    check: h("div", { class: "hp-files" }),
  });
  const file = h("input", {
    type: "file",
    accept: ".zip",
    class: "ra-sr",
    tabindex: "-1",
    "aria-label": "Reader's copy to take back in",
    onchange: () => take(file.files[0]),
  });
  const out = h("div", { class: "ra-group" }),
    back = h("div", {}),
    agree = h("div", {}),
    check = h("div", {}),
    choose = h("div", { class: "ra-group" });
  const card = (/** @type {string} */ title, /** @type {any[]} */ ...kids) =>
    h("div", { class: "hp-card", role: "group", "aria-label": title }, h("h3", { text: title }), ...kids);
  const backCard = card("Take a copy back in", choose, back);
  body.append(
    h(
      "div",
      { class: "hp-cards" },
      card(
        "Give it to a second reader",
        h("p", {
          class: "ra-hint",
          text: "The blind copy shows photographs, zones and their order and nothing that anybody wrote, so that the second reader sees with their own eyes; the full copy shows the rest, too. The worksheet is for a reader without a computer. Place, owner and provenance are left out of all three.",
        }),
        out,
        files.out,
      ),
      backCard,
      card("How far readers agree", agree),
      card("Checks and archive", check, files.check),
    ),
  );
  signal.addEventListener("abort", () => urls.forEach((u) => URL.revokeObjectURL(u)));

  const PART = 1 << 20;
  async function take(/** @type {File|undefined} */ f) {
    if (!f) return;
    const id = String(Math.random()).slice(2);
    for (let i = 0, n = Math.max(1, Math.ceil(f.size / PART)); i < n; i++)
      await ask("receive", { id, name: f.name, at: i, of: n }, [await f.slice(i * PART, (i + 1) * PART).arrayBuffer()]);
    file.value = "";
  }
  on("file", (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    let link = null;
    if (buffers?.[0]?.byteLength) {
      const url = URL.createObjectURL(new Blob([buffers[0]], { type: m.mime }));
      urls.push(url);
      link = h("a", {
        class: "ra-button ra-small hp-save",
        download: m.name,
        text: "Save as …",
        "aria-label": `Save ${m.name}`,
      });
      link.href = url;
    }
    const row = h(
      "div",
      { class: "hp-file", "data-what": m.what },
      h("div", {}, h("b", { text: m.what }), ` ${m.size}`, h("br"), h("small", { title: m.path, text: m.shown })),
      link,
    );
    const box = files[m.where] ?? files.out;
    box.querySelector(`[data-what="${CSS.escape(m.what)}"]`)?.remove(); // written again: the newer one stands
    box.prepend(row);
    root.dataset.written = m.name;
  });
  const table = (/** @type {string[]} */ head, /** @type {any[][]} */ rows) =>
    h(
      "table",
      {},
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          head.map((x) => h("th", { scope: "col", text: x })),
        ),
      ),
      h(
        "tbody",
        {},
        rows.map((r) =>
          h(
            "tr",
            {},
            r.map((x) => h("td", { lang: "ja", text: x })),
          ),
        ),
      ),
    );
  show((now) => {
    if (!now?.ready) return;
    st = now;
    const go = (/** @type {string} */ word, /** @type {string} */ what, args = {}, main = false) =>
      button(word, () => ask(what, args), {
        disabled: Boolean(st.busy),
        "data-key": `${what}-${JSON.stringify(args)}`,
        class: main ? "ra-button ra-main" : "ra-button",
      });
    const busy = (/** @type {string} */ where) =>
      st.busy && st.where === where
        ? h("span", { class: "ra-group" }, h("progress", { "aria-label": st.busy }), st.busy)
        : null;
    refill(
      out,
      go("Blind copy", "copy", { blind: true }, true),
      go("Full copy", "copy", { blind: false }),
      go("Worksheet to print", "worksheet"),
      busy("out"),
    );
    refill(
      choose,
      button("Choose the copy …", () => file.click(), { "data-key": "take", disabled: Boolean(st.busy) || st.locked }),
      file,
      busy("back"),
    );
    backCard.classList.toggle("hp-wide", Boolean(st.merged?.conflicts.length));
    refill(
      back,
      st.merged
        ? [
            h("p", { text: st.merged.words }),
            st.merged.conflicts.length
              ? h(
                  "div",
                  { class: "hp-table" },
                  table(["Where", "What", "Before", "Ours (stands)", "Theirs"], st.merged.conflicts),
                )
              : null,
            st.merged.notices.map((/** @type {string} */ n) => h("p", { class: "ra-caution", text: n })),
          ]
        : h("p", {
            class: "ra-hint",
            text: st.locked
              ? "This piece is open for reading only; nothing can be taken in."
              : "Nothing is lost by it: where both changed the same thing, yours stands and both are listed.",
          }),
    );
    refill(
      agree,
      h(
        "div",
        { class: "ra-group" },
        go("Compare the readers", "agreement"),
        go("How sure were they rightly?", "calibration"),
        busy("agree"),
      ),
      st.agreement.map((/** @type {string} */ w) => h("p", { text: w })),
      st.calibration?.length
        ? h(
            "div",
            { class: "hp-table" },
            table(["Reader", "Signs settled", "Brier score (0 is best)", "In words"], st.calibration),
          )
        : st.calibration
          ? h("p", {
              text: "How sure they were rightly: no sign is settled yet. Mark an attempt as settled in the register first.",
            })
          : null,
      st.agreement.length || st.calibration
        ? null
        : h("p", {
            class: "ra-hint",
            text: "Needs a copy that came back. With two readers, few signs and many letters the figures are rough.",
          }),
    );
    refill(
      check,
      h(
        "div",
        { class: "ra-group" },
        go("Check register and photographs", "check"),
        go("Make an archive (BagIt)", "archive"),
        busy("check"),
      ),
      st.checked === null
        ? h("p", {
            class: "ra-hint",
            text: "The check reads every revision and every photograph. The archive holds the whole piece folder, place and owner too: it is for keeping, not for giving away.",
          })
        : st.checked.length
          ? st.checked.map((/** @type {string} */ c) => h("p", { class: "ra-caution", text: c }))
          : h("p", { class: "hp-good", text: "All is as it was: every revision and every photograph." }),
    );
  });
}

export default { render };
