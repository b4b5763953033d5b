// The report: which format and edition, written into the piece folder, looked at here, saved where the reader wants it.
import { button, choice, field, fold, h, panel, refill } from "./kit.js";

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, ask, show, on, say } = panel(given, "tp", "Report");
  const { signal } = given;
  let st = /** @type {any} */ ({}),
    url = "";
  const form = h("div", { class: "ra-bar tp-form" }),
    done = h("div", { class: "tp-done" }),
    frame = h("div", { class: "tp-frame" }),
    entries = h("div", { class: "tp-entries" });
  body.append(
    h("p", {
      class: "ra-hint",
      text: "Position, owner and camera number are left out of every report unless you ask for them.",
    }),
    fold("Catalogue entry of each inscription", [entries]),
    form,
    done,
    frame,
  );
  /** One field of an entry; what the program proposes stands below it and is taken over by a press. */
  const line = (/** @type {any} */ entry, /** @type {any} */ f) => {
    const put = (/** @type {string} */ text) => ask("entry", { id: entry.id, name: f.name, text });
    const key = `entry-${entry.id}-${f.name}`;
    const x = field(f.label, put, { lang: "ja", "data-key": key, ...(f.long ? { rows: 2 } : {}) });
    x.put(f.value);
    const take = () => put(f.offer);
    return f.offer ? [x.box, button(`${f.offer}`, take, { "data-key": `take-${key}`, lang: "ja" })] : [x.box];
  };
  const busyHand = (/** @type {HTMLElement} */ box) =>
    box.contains(document.activeElement) && document.activeElement?.matches("input[type=text],textarea");
  on("report", (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    if (url) URL.revokeObjectURL(url);
    url = URL.createObjectURL(new Blob([buffers[0]], { type: m.mime }));
    const link = h("a", { class: "ra-button tp-save", download: m.name, text: `Save a copy of ${m.name}` });
    link.href = url;
    refill(done, h("p", {}, "Written: ", h("code", { text: m.path }), ` (${m.size})`), link);
    root.dataset.written = m.name;
    if (m.look === "html") {
      const f = h("iframe", { title: "The report", sandbox: "", class: "tp-look" });
      f.src = url;
      refill(frame, f);
    } else if (m.look === "text") {
      const pre = h("pre", { class: "tp-text", tabindex: "0", lang: "ja" });
      new Response(buffers[0]).text().then((t) => {
        pre.textContent = t.slice(0, 20000);
      });
      refill(frame, pre);
    } else refill(frame);
    say(`The report is written: ${m.name}.`);
  });
  signal.addEventListener("abort", () => url && URL.revokeObjectURL(url));
  show((now) => {
    if (!now?.formats) return;
    st = now;
    if (!busyHand(entries))
      refill(
        entries,
        st.entries.map((/** @type {any} */ e) =>
          h(
            "div",
            { class: "tp-entry" },
            h("b", { text: e.words, lang: "ja" }),
            button("Propose what can be computed", () => ask("propose", { id: e.id }), {
              "data-key": `propose-${e.id}`,
            }),
            e.fields.map((/** @type {any} */ f) => line(e, f)),
          ),
        ),
      );
    const flag = (/** @type {string} */ label, /** @type {string} */ name) =>
      h("button", {
        type: "button",
        class: "ra-button",
        "aria-pressed": String(st[name]),
        "data-key": name,
        onclick: () => ask("set", { name, value: !st[name] }),
        text: label,
      });
    refill(
      form,
      choice("Format", st.formats, st.format, (v) => ask("set", { name: "format", value: v }), {
        "data-key": "format",
      }),
      choice(
        "Edition marks",
        [
          ["leiden", "Leiden: [ ] dot under …"],
          ["japanese", "Japanese: □ ［カ］ …"],
        ],
        st.edition,
        (v) => ask("set", { name: "edition", value: v }),
        { "data-key": "edition" },
      ),
      choice(
        "Language",
        [
          ["en", "English"],
          ["ja", "日本語"],
        ],
        st.language,
        (v) => ask("set", { name: "language", value: v }),
        { "data-key": "language" },
      ),
      choice(
        "How much",
        [
          ["full", "Entry and evidence"],
          ["entry", "Entry alone"],
        ],
        st.part,
        (v) => ask("set", { name: "part", value: v }),
        { "data-key": "part" },
      ),
      flag("With place and provenance", "private"),
      flag("Blind (no readings)", "blind"),
      button(st.busy ? "Writing …" : "Write the report", () => ask("write"), {
        class: "ra-button ra-main",
        disabled: st.busy,
        "data-key": "write",
      }),
    );
  });
}

export default { render };
