// A school of its own: pictures in, makers beside them, one comparison, figures as they will be printed.
import { button, field, h, panel, refill } from "./kit.js";

const PART = 1 << 20;

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, ask, show, on, signal } = Object.assign(panel(given, "al", "The school"), { signal: given.signal });
  let st = /** @type {any} */ ({});
  const chosen = new Set();
  const urls = /** @type {string[]} */ ([]);
  signal.addEventListener("abort", () => urls.forEach((u) => URL.revokeObjectURL(u)));

  const named = h("input", { type: "checkbox", checked: true });
  const files = h("input", {
    type: "file",
    multiple: true,
    accept: "image/*",
    class: "ra-sr",
    tabindex: "-1",
    "aria-label": "Pictures of forms",
    onchange: () => take([...files.files]),
  });
  const table = h("input", {
    type: "file",
    accept: ".csv,text/csv",
    class: "ra-sr",
    tabindex: "-1",
    "aria-label": "Table of makers (CSV)",
    onchange: async () => {
      if (table.files[0]) await ask("makers", { text: await table.files[0].text() });
      table.value = "";
    },
  });
  const drop = h(
    "div",
    { class: "al-drop" },
    button("Add pictures …", () => files.click(), { class: "ra-button ra-main", "data-key": "add" }),
    " or drop them here, one form each. ",
    h("label", {}, named, " their names tell maker and year (Rokusen_1790_2.jpg)"),
    files,
  );
  drop.addEventListener("dragover", (e) => {
    e.preventDefault();
    drop.classList.add("over");
  });
  drop.addEventListener("dragleave", () => drop.classList.remove("over"));
  drop.addEventListener("drop", (e) => {
    e.preventDefault();
    drop.classList.remove("over");
    take([...(e.dataTransfer?.files ?? [])]);
  });
  const words = h("p", { class: "ra-hint" });
  const forms = h("div", { class: "al-forms", role: "group", "aria-label": "Forms" });
  const whose = h("div", { class: "ra-bar" });
  const run = h("div", { class: "ra-bar" });
  const kinds = h("div", { class: "ra-bar" });
  const figure = h("div", { class: "al-figure" });
  const out = h("div", { class: "ra-bar" });
  const said = h("div", {});
  const meter = h("progress", { max: "1", "aria-label": "Pairs compared" });
  on("progress", (/** @type {any} */ m) => {
    meter.value = m.share;
  });
  on("file", (/** @type {any} */ m, /** @type {any[]} */ buffers) => {
    const url = URL.createObjectURL(new Blob([buffers[0]], { type: m.mime }));
    urls.push(url);
    const link = h("a", { class: "ra-button ra-small", download: m.name, text: `Save ${m.name} …` });
    link.href = url;
    out.append(link);
  });
  body.append(drop, words, forms, whose, run, kinds, figure, out, said);

  /** @param {File[]} some */
  async function take(some) {
    for (const [k, f] of some.entries()) {
      const id = String(Math.random()).slice(2);
      const n = Math.max(1, Math.ceil(f.size / PART));
      for (let i = 0; i < n; i++)
        await ask(
          "picture",
          { id, name: f.name, at: i, of: n, last: k === some.length - 1, named: named.checked },
          [await f.slice(i * PART, (i + 1) * PART).arrayBuffer()],
        );
    }
    files.value = "";
  }

  function paintForms() {
    for (const id of [...chosen]) if (!st.forms.some((/** @type {any} */ f) => f.id === id)) chosen.delete(id);
    refill(
      forms,
      ...st.forms.map((/** @type {any} */ f) =>
        h(
          "button",
          {
            class: "al-form",
            "aria-pressed": String(chosen.has(f.id)),
            "data-id": f.id,
            onclick: () => {
              if (chosen.has(f.id)) chosen.delete(f.id);
              else chosen.add(f.id);
              paintForms();
              paintWhose();
            },
          },
          h("img", { alt: "", src: `data:image/jpeg;base64,${f.thumb}` }),
          h("span", { lang: "ja", text: `${f.maker || "not known"} ${f.year}` }),
        ),
      ),
    );
  }
  function paintWhose() {
    const give = (/** @type {string} */ maker) => {
      ask("assign", { ids: [...chosen], maker });
      chosen.clear();
    };
    refill(
      whose,
      h("span", { text: chosen.size ? `${chosen.size} chosen are by` : "Choose forms to say whose they are." }),
      ...(chosen.size
        ? [
            ...st.makers.map((/** @type {any[]} */ m) =>
              button(m[0], () => give(m[0]), { class: "ra-button ra-small", lang: "ja" }),
            ),
            field("New maker", (/** @type {string} */ v) => v && give(v)),
            button("not known", () => give(""), { class: "ra-button ra-small" }),
            chosen.size === 1 && st.figures.length
              ? button("Nearest to this", () => ask("nearest", { id: [...chosen][0] }), { class: "ra-button ra-small" })
              : null,
          ]
        : []),
      h("span", { class: "ra-gap" }),
      button("Makers from a table (CSV) …", () => table.click(), { class: "ra-button ra-small" }),
      table,
    );
  }
  function paintStudy() {
    refill(
      run,
      button(
        st.figures.length ? "Compare all again" : "Compare all forms",
        () => {
          meter.value = 0;
          ask("compare");
        },
        { class: "ra-button ra-main", disabled: Boolean(st.busy) || st.forms.length < 2, "data-key": "all" },
      ),
      st.busy ? [meter, button("Stop", () => ask("stop"), { class: "ra-button ra-small" })] : null,
    );
    refill(
      kinds,
      ...st.figures.map((/** @type {string[]} */ [k, title]) =>
        button(title, () => ask("show", { figure: k }), {
          class: "ra-button ra-small",
          "aria-pressed": String(k === st.shown),
          "data-key": k,
        }),
      ),
    );
    const f = st.figure;
    refill(
      figure,
      f ? (f.svg ? h("img", { alt: f.title, src: `data:image/svg+xml;base64,${f.svg}` }) : h("p", { text: f.title })) : null,
    );
    refill(
      out,
      ...(f?.svg
        ? ["pdf", "svg", "png"].map((e) =>
            button(e.toUpperCase(), () => ask("print", { ending: e }), { class: "ra-button ra-small", "data-key": e }),
          )
        : []),
    );
    refill(
      said,
      st.sentence ? h("p", { class: "ra-caution", text: st.sentence }) : null,
      ...st.sentences.map((/** @type {string} */ t) => h("p", { text: t })),
    );
  }
  show((now) => {
    if (!now?.ready) return;
    st = now;
    words.textContent = `${st.title}: ${st.words}`;
    paintForms();
    paintWhose();
    paintStudy();
    root.dataset.forms = String(st.forms.length);
    root.dataset.done = String(Boolean(st.figures.length));
  });
}

export default { render };
