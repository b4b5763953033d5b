// The reading log: what was done in sentences, who and when, each line with its way back.
import { button, h, refill } from "./kit.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";

/** The reading log, laid over the right of the bench while it is open. */
export class Log {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").LogPanelAsks, import("./register_states.js").LogPanelState>} */
    const { root, body, ask, show } = panel(given, "lg", t`Reading log`);
    this.ask = ask;
    this.root = root;
    this.list = h("ol", { class: "lg-lines", "aria-label": t`Newest first` });
    const shut = button(t`Close`, () => this.turn(false), { class: "ra-button ra-small", "data-key": "log-close" });
    body.append(
      h("div", { class: "lg-head" }, h("h3", { text: t`Reading log` }), h("span", { class: "ra-gap" }), shut),
      h("p", {
        class: "ra-hint",
        text: t`Nothing is erased: the way back is written down as new steps, and only your own steps are taken back.`,
      }),
      this.list,
    );
    root.addEventListener("keydown", (e) => e.key === "Escape" && this.turn(false), { signal: given.signal });
    document.addEventListener("readaid-log", () => this.turn(true), { signal: given.signal });
    show((now) => now?.lines && this.paint(now));
  }
  /** @param {boolean} open */
  turn(open) {
    this.root.closest(".ra-bench")?.classList.toggle("ra-logged", open);
    this.ask("turn", { open });
    if (open) /** @type {HTMLElement|null} */ (this.root.querySelector("[data-key=log-close]"))?.focus();
    else /** @type {HTMLElement|null} */ (document.querySelector(".ra-bench [data-key=log]"))?.focus();
  }
  /** @param {import("./register_states.js").LogPanelState} st */
  paint(st) {
    refill(
      this.list,
      st.lines.length
        ? st.lines.map((x) => this.line(x, st.locked))
        : h("li", { class: "ra-hint", text: t`Nothing was done yet.` }),
    );
  }
  /** @param {import("./register_states.js").LogRow} x @param {boolean} locked */
  line(x, locked) {
    return h(
      "li",
      { class: "lg-line" },
      h("div", { class: `lg-words ${x.stands ? "" : "lg-gone"}`, text: x.words }),
      h(
        "div",
        { class: "ra-group" },
        x.character
          ? button(t`Show`, () => this.ask("choose", { character: x.character }), {
              class: "ra-button ra-small",
              "data-key": `log-show-${x.id}`,
              "aria-label": t`Show the sign: ${x.words}`,
            })
          : null,
        x.back && !locked
          ? button(t`Back to here`, () => this.ask("back", { gesture: x.id }), {
              class: "ra-button ra-small",
              "data-key": `log-back-${x.id}`,
              title: t`Takes back all of your own steps after this one, by new revisions`,
            })
          : null,
      ),
      h("small", { text: t`${x.when} UTC · ${x.who}` }),
    );
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Log(given);
}

export default { render: inLanguage(render) };
