// The head of the bench: piece, places of the bench, the way back, that all is saved, who reads.
import { Drawer } from "./head_drawer.js";
import { button, field, h, refill } from "./kit.js";
import { panel, textFace } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";

/** Which place is in sight, told to the bench at once and not only when Python has answered. @param {Element|null} bench @param {string} stage @param {[string,string][]} all */
function turnTo(bench, stage, all) {
  if (!bench) return;
  for (const [name] of all) bench.classList.toggle(`ra-at-${name}`, name === stage);
  bench.classList.remove("ra-traced");
}

/** The head of the bench. */
export class Head {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").HeadPanelAsks, import("./register_states.js").HeadPanelState>} */
    const made = panel(given, "hd", t`The bench`);
    this.sheets = new Drawer(this);
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.on = made.on;
    this.show = made.show;
    this.st = /** @type {import("./register_states.js").HeadPanelState} */ ({});
    this.pieces = /** @type {import("./messages.js").Told["pieces"]|null} */ (null);
    this.open = false;
    this.title = h("button", {
      type: "button",
      class: "hd-piece",
      "aria-haspopup": "dialog",
      "data-key": "piece",
      onclick: () => {
        this.open = !this.open;
        if (this.open) this.ask("pieces");
        this.sheets.paintDrawer();
      },
    });
    this.stages = h("div", { class: "hd-stages", role: "tablist", "aria-label": t`Places of the bench` });
    this.back = h("div", { class: "hd-back" });
    this.saved = h("span", { class: "hd-saved", role: "status" }); // told when it changes, not with every gesture
    const sheet = (/** @type {string} */ cls, /** @type {string} */ label) =>
      h("div", { class: cls, role: "dialog", "aria-label": label, hidden: true });
    this.drawer = sheet("hd-drawer", t`Pieces`);
    this.help = sheet("hd-drawer hd-help", t`Steps, keys, cautions`);
    this.notices = h("div", { class: "hd-notices" });
    this.reader = field(t`Reader`, (v) => this.ask("reader", { name: v }), {
      class: "ra-input hd-reader",
      "data-key": "reader",
    });
    this.fresh = field(t`A new piece: what it is called`, () => {}, { "data-key": "new-title" });
    this.other = field(t`A piece that lies elsewhere: its folder`, () => {}, { "data-key": "open-folder" });
    this.start = () => this.ask("new", { title: this.fresh.input.value });
    this.take = () => this.ask("open", { folder: this.other.input.value });
    this.commit(this.fresh, this.start);
    this.commit(this.other, this.take);
    this.body.append(this.title, this.stages, this.back, this.drawer, this.help, this.notices);
    this.on("pieces", (m) => {
      this.pieces = m;
      this.sheets.paintDrawer();
    });
    this.listen(given.signal, made);
    this.show((now) => {
      if (!now?.stages) return;
      const moved = now.stage !== this.st.stage;
      this.st = now;
      this.paint();
      this.sheets.paintDrawer();
      if (moved) this.help.hidden = true;
      else this.sheets.paintHelp();
      if (moved) turnTo(this.root.closest(".ra-bench"), this.st.stage, this.st.stages);
    });
  }
  /** Enter in a field does it. @param {{input: HTMLInputElement}} f @param {() => void} go */
  commit(f, go) {
    return f.input.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key === "Enter" && !e.isComposing && e.keyCode !== 229) go();
    });
  }
  go(/** @type {string} */ stage) {
    turnTo(this.root.closest(".ra-bench"), stage, this.st.stages);
    this.st = { ...this.st, stage };
    this.paint();
    this.ask("stage", { stage });
  }
  paintStages() {
    const tabs = /** @type {NodeListOf<HTMLElement>} */ (this.stages.querySelectorAll(".hd-stage"));
    for (const tab of tabs) {
      const on = tab.dataset.key === `stage-${this.st.stage}`;
      tab.setAttribute("aria-selected", String(on));
      tab.tabIndex = on ? 0 : -1;
    }
    if (tabs.length) return; // laid anew they would be told anew
    refill(
      this.stages,
      this.st.stages.map(([name, words], i) =>
        h(
          "button",
          {
            type: "button",
            role: "tab",
            class: "hd-stage",
            "data-key": `stage-${name}`,
            "aria-selected": String(name === this.st.stage),
            tabindex: name === this.st.stage ? "0" : "-1",
            onclick: () => this.go(name),
            onkeydown: (/** @type {KeyboardEvent} */ e) => {
              const by = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
              if (!by) return;
              e.preventDefault();
              const next = this.st.stages[(i + by + this.st.stages.length) % this.st.stages.length][0];
              this.go(next);
              /** @type {HTMLElement|null} */ (this.stages.querySelector(`[data-key="stage-${next}"]`))?.focus();
            },
          },
          words,
        ),
      ),
    );
  }
  paint() {
    this.title.replaceChildren(
      h("span", { class: "hd-name", text: this.st.title }),
      h("span", { class: "hd-more", "aria-hidden": "true", text: "▾" }),
    );
    this.title.title = t`${this.st.title}; kept in ${this.st.folder}. Another piece, or a new one`;
    this.paintStages();
    const alone = document.body.classList.contains("readaid-desk");
    const word = this.st.locked ? t`opened for reading` : t`all saved`;
    if (this.saved.textContent !== word) refill(this.saved, h("span", { text: word }));
    /** @type {HTMLElement} */ (this.saved.firstElementChild).title = this.st.saved;
    refill(
      this.back,
      this.saved,
      button(t`Undo`, () => this.ask("undo"), {
        class: "hd-word",
        disabled: !this.st.undo,
        "data-key": "undo",
        title: this.st.undo ? t`Take back: ${this.st.undo} (Ctrl+Z)` : t`Nothing to take back`,
      }),
      button(t`Redo`, () => this.ask("redo"), {
        class: "hd-word",
        disabled: !this.st.redo,
        "data-key": "redo",
        title: this.st.redo ? t`Do again: ${this.st.redo} (Ctrl+Y)` : t`Nothing to do again`,
      }),
      button(t`Log`, () => document.dispatchEvent(new Event("readaid-log")), {
        class: "hd-word",
        "data-key": "log",
        title: t`What was done, in sentences, each with its way back`,
      }),
      button("?", () => this.turnHelp(), {
        class: "hd-word",
        "data-key": "help",
        "aria-label": t`Steps, keys and cautions`,
        title: t`Steps, keys and cautions of this place (F1)`,
      }),
      this.st.languages
        .filter(([name]) => name !== this.st.language)
        .map(([name, words]) =>
          button(words, () => this.ask("language", { name }), {
            class: "hd-word",
            lang: name,
            "data-key": "speak",
            title: t`Language of the screen`,
          }),
        ),
      alone ? null : button(t`Whole window`, () => this.whole(), { class: "hd-word", "data-key": "full" }),
      h("span", {
        class: "hd-who",
        title: t`Who reads; written beside every entry. Change it under the piece's name`,
        text: this.st.reader,
      }),
    );
    this.paintNotices();
    this.reader.put(this.st.reader);
  }
  /** @param {AbortSignal} signal @param {import("./panel_frame.js").Way} way */
  listen(signal, way) {
    textFace(way);
    const help = (/** @type {KeyboardEvent} */ e) => {
      const asked =
        e.key === "F1" || (e.key === "?" && !(/** @type {Element} */ (e.target).closest("input,textarea,select")));
      if (!asked || !this.root.closest(".ra-bench")?.contains(document.activeElement)) return;
      e.preventDefault();
      e.stopPropagation();
      this.turnHelp();
    };
    document.addEventListener("keydown", help, { signal, capture: true });
    this.root.addEventListener("keydown", (e) => e.key === "Escape" && this.leave(), { signal });
    const elsewhere = (/** @type {Event} */ e) => {
      if (!this.root.contains(/** @type {Node} */ (e.target))) this.shut();
    };
    document.addEventListener("pointerdown", elsewhere, { signal });
    document.addEventListener("mousedown", (e) => this.hold(e), { signal, capture: true });
  }
  /** The ground between the panels is the bench's, too: a click there does not send the focus to the notebook's cell, where
   * a key would add or cut cells. @param {MouseEvent} e */
  hold(e) {
    const at = /** @type {Element} */ (e.target);
    if (at.closest(".ra") || !this.root.closest(".ra-bench")?.contains(at)) return;
    e.stopPropagation();
    e.preventDefault(); // or the browser itself would focus the cell after this
    this.root.focus({ preventScroll: true });
  }
  /** Steps and keys are laid out, or put away. */
  turnHelp() {
    this.help.hidden = !this.help.hidden;
    this.sheets.paintHelp();
  }
  /** What is open is put away, and the focus goes to where it was opened. */
  leave() {
    const opener = this.help.hidden
      ? this.title
      : /** @type {HTMLElement|null} */ (this.back.querySelector("[data-key=help]"));
    if (this.help.hidden && !this.open) return;
    if (this.help.hidden) this.turnDrawer(false);
    this.help.hidden = true;
    opener?.focus();
  }
  /** All that is open is put away. */
  shut() {
    if (this.open) this.turnDrawer(false);
    this.help.hidden = true;
  }
  /** @param {boolean} open */
  turnDrawer(open) {
    this.open = open;
    this.sheets.paintDrawer();
  }
  /** What the piece has to say once. */
  paintNotices() {
    refill(
      this.notices,
      this.st.notices?.length && !this.notices.dataset.read
        ? h(
            "div",
            { class: "hd-notice", role: "alert" },
            h(
              "ul",
              {},
              this.st.notices.map((n) => h("li", { text: n })),
            ),
            button(
              t`Put away`,
              () => {
                this.notices.dataset.read = "1";
                this.paint();
              },
              { class: "ra-button ra-small", "data-key": "notices" },
            ),
          )
        : [],
    );
  }
  /** The bench takes the whole window, or leaves it. */
  whole() {
    if (document.fullscreenElement) document.exitFullscreen();
    else this.root.closest(".ra-bench")?.requestFullscreen?.();
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Head(given);
}

export default { render: inLanguage(render) };
