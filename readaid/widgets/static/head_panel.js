// The head of the bench: piece, places of the bench, the way back, that all is saved, who reads.
import { button, field, h, panel, refill } from "./kit.js";

/** Which place is in sight, told to the bench at once and not only when Python has answered. @param {Element|null} bench @param {string} stage @param {[string,string][]} all */
function turnTo(bench, stage, all) {
  if (!bench) return;
  for (const [name] of all) bench.classList.toggle(`ra-at-${name}`, name === stage);
  bench.classList.remove("ra-traced");
}

/** @param {import("./kit.js").Given} given */
function render(given) {
  const { root, body, ask, on, show } = panel(given, "hd", "The bench");
  let st = /** @type {any} */ ({}),
    pieces = /** @type {any} */ (null),
    open = false;
  const title = h("button", {
    type: "button",
    class: "hd-piece",
    "aria-haspopup": "dialog",
    "data-key": "piece",
    onclick: () => {
      open = !open;
      if (open) ask("pieces");
      paintDrawer();
    },
  });
  const stages = h("div", { class: "hd-stages", role: "tablist", "aria-label": "Places of the bench" });
  const back = h("div", { class: "hd-back" }),
    drawer = h("div", { class: "hd-drawer", role: "dialog", "aria-label": "Pieces", hidden: true });
  const help = h("div", {
    class: "hd-drawer hd-help",
    role: "dialog",
    "aria-label": "Steps, keys, cautions",
    hidden: true,
  });
  const notices = h("div", { class: "hd-notices" });
  const reader = field("Reader", (v) => ask("reader", { name: v }), {
    class: "ra-input hd-reader",
    "data-key": "reader",
  });
  const fresh = field("A new piece: what it is called", () => {}, { "data-key": "new-title" }),
    other = field("A piece that lies elsewhere: its folder", () => {}, { "data-key": "open-folder" });
  const commit = (/** @type {any} */ f, /** @type {() => void} */ go) =>
    f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) go();
    });
  const start = () => ask("new", { title: fresh.input.value }),
    take = () => ask("open", { folder: other.input.value });
  commit(fresh, start);
  commit(other, take);
  body.append(title, stages, back, drawer, help, notices);

  const go = (/** @type {string} */ stage) => {
    turnTo(root.closest(".ra-bench"), stage, st.stages);
    st = { ...st, stage };
    paint();
    ask("stage", { stage });
  };
  function paintStages() {
    refill(
      stages,
      st.stages.map(([name, words], /** @type {number} */ i) =>
        h(
          "button",
          {
            type: "button",
            role: "tab",
            class: "hd-stage",
            "data-key": `stage-${name}`,
            "aria-selected": String(name === st.stage),
            tabindex: name === st.stage ? "0" : "-1",
            onclick: () => go(name),
            onkeydown: (/** @type {KeyboardEvent} */ e) => {
              const by = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
              if (!by) return;
              e.preventDefault();
              const next = st.stages[(i + by + st.stages.length) % st.stages.length][0];
              go(next);
              /** @type {any} */ (stages.querySelector(`[data-key="stage-${next}"]`))?.focus();
            },
          },
          words,
        ),
      ),
    );
  }
  function paint() {
    title.replaceChildren(
      h("span", { class: "hd-name", text: st.title }),
      h("span", { class: "hd-more", "aria-hidden": "true", text: "▾" }),
    );
    title.title = `${st.title}; kept in ${st.folder}. Another piece, or a new one`;
    paintStages();
    const alone = document.body.classList.contains("readaid-desk");
    refill(
      back,
      h("span", {
        class: "hd-saved",
        role: "status",
        text: st.locked ? "opened for reading" : "all saved",
        title: st.saved,
      }),
      button("Undo", () => ask("undo"), {
        class: "hd-word",
        disabled: !st.undo,
        "data-key": "undo",
        title: st.undo ? `Take back: ${st.undo} (Ctrl+Z)` : "Nothing to take back",
      }),
      button("Redo", () => ask("redo"), {
        class: "hd-word",
        disabled: !st.redo,
        "data-key": "redo",
        title: st.redo ? `Do again: ${st.redo} (Ctrl+Y)` : "Nothing to do again",
      }),
      button(
        "?",
        () => {
          help.hidden = !help.hidden;
          paintHelp();
        },
        {
          class: "hd-word",
          "data-key": "help",
          "aria-label": "Steps, keys and cautions",
          title: "Steps, keys and cautions of this place (F1)",
        },
      ),
      alone
        ? null
        : button(
            "Whole window",
            () => {
              document.fullscreenElement ? document.exitFullscreen() : root.closest(".ra-bench")?.requestFullscreen?.();
            },
            { class: "hd-word", "data-key": "full" },
          ),
      h("span", {
        class: "hd-who",
        title: "Who reads; written beside every entry. Change it under the piece's name",
        text: st.reader,
      }),
    );
    refill(
      notices,
      st.notices?.length && !notices.dataset.read
        ? h(
            "div",
            { class: "hd-notice", role: "alert" },
            h(
              "ul",
              {},
              st.notices.map((/** @type {string} */ n) => h("li", { text: n })),
            ),
            button(
              "Read",
              () => {
                notices.dataset.read = "1";
                paint();
              },
              { class: "ra-button ra-small", "data-key": "notices" },
            ),
          )
        : [],
    );
    reader.put(st.reader);
  }
  function paintDrawer() {
    drawer.hidden = !open;
    title.setAttribute("aria-expanded", String(open));
    if (!open) return;
    const at = /** @type {HTMLElement} */ (document.activeElement);
    if (drawer.contains(at) && at.matches("input")) return;
    refill(
      drawer,
      h("p", { class: "ra-hint", text: `On the bench: ${st.folder}` }),
      pieces?.rows.length
        ? h(
            "div",
            { class: "hd-list", role: "list", "aria-label": "Pieces beside it" },
            pieces.rows.map(([folder, name]) =>
              h(
                "button",
                {
                  type: "button",
                  role: "listitem",
                  class: "hd-other",
                  "data-key": `p-${folder}`,
                  onclick: () => {
                    open = false;
                    ask("open", { folder });
                  },
                },
                name,
              ),
            ),
          )
        : h("p", { class: "ra-hint", text: pieces ? "No other piece lies beside this one." : "Looking …" }),
      h("div", { class: "hd-line" }, fresh.box, button("Start it", start, { class: "ra-button", "data-key": "new" })),
      h("div", { class: "hd-line" }, other.box, button("Open it", take, { class: "ra-button", "data-key": "open" })),
      h("div", { class: "hd-line" }, reader.box),
      root.querySelector(".ra-fault"),
    );
  }
  function paintHelp() {
    const t = st.help;
    refill(
      help,
      help.hidden || !t
        ? []
        : [
            t.caution ? h("p", { class: "ra-caution", text: t.caution }) : null,
            h("h3", { text: "How it goes here" }),
            h(
              "ol",
              {},
              t.steps.map((/** @type {string} */ x) => h("li", { text: x })),
            ),
            h("h3", { text: "Keys" }),
            h(
              "dl",
              { class: "hd-keys" },
              t.keys.map(([k, words]) => [h("dt", { text: k }), h("dd", { text: words })]),
            ),
            button(
              "Close",
              () => {
                help.hidden = true;
              },
              { class: "ra-button ra-small", "data-key": "help-close" },
            ),
          ],
    );
  }
  document.addEventListener(
    "keydown",
    (e) => {
      if (e.key === "F1" && root.closest(".ra-bench")?.contains(document.activeElement)) {
        e.preventDefault();
        e.stopPropagation();
        help.hidden = !help.hidden;
        paintHelp();
      }
    },
    { signal: given.signal, capture: true },
  );
  on("pieces", (/** @type {any} */ m) => {
    pieces = m;
    paintDrawer();
  });
  root.addEventListener(
    "keydown",
    (e) => {
      if (e.key === "Escape" && !help.hidden) {
        help.hidden = true;
        /** @type {any} */ (back.querySelector("[data-key=help]"))?.focus();
      } else if (e.key === "Escape" && open) {
        open = false;
        paintDrawer();
        title.focus();
      }
    },
    { signal: given.signal },
  );
  document.addEventListener(
    "pointerdown",
    (e) => {
      if (!root.contains(/** @type {Node} */ (e.target))) {
        if (open) {
          open = false;
          paintDrawer();
        }
        help.hidden = true;
      }
    },
    { signal: given.signal },
  );
  show((now) => {
    if (!now?.stages) return;
    const moved = now.stage !== st.stage;
    st = now;
    paint();
    paintDrawer();
    if (moved) help.hidden = true;
    else paintHelp();
    if (moved) turnTo(root.closest(".ra-bench"), st.stage, st.stages);
  });
}

export default { render };
