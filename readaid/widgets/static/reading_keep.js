// Writing a reading down where it stands: how sure, as what, and why.
import { button, h, oneOf } from "./kit.js";
import { t } from "./texts.js";

const WHY = () => t`Why? (what is seen, which light, who agrees)`;

/** The form that writes a reading down; what was begun stays when it is drawn again. */
export class KeepForm {
  /** @param {import("./reading_panel.js").Reading} p */
  constructor(p) {
    this.p = p;
    this.draft = { confidence: 0.5, evidence: "", status: "open" };
  }
  /** @param {number} i which reading; -2: the reader's own words */
  box(i) {
    const machine = i >= 0 && Boolean(this.p.st.readings[i]?.machine);
    const write = () => this.write(i, machine);
    return h(
      "div",
      { class: "rp-keep", role: "group", "aria-label": t`Keep this reading` },
      this.sure(machine),
      h(
        "div",
        { class: "rp-keeprow" },
        this.why(write),
        button(t`Write it into the register`, write, { class: "ra-button ra-main", "data-key": "kw" }),
        button(t`Cancel`, () => this.p.kept(), { "data-key": "kc" }),
      ),
    );
  }
  /** How sure, and as what. @param {boolean} machine a proposal, mostly the machine's */
  sure(machine) {
    const { p, draft } = this,
      { st } = p,
      words = st.values.map(([w]) => /** @type {[string, string]} */ ([w, w])),
      now = st.values.find((v) => v[1] === draft.confidence)?.[0] ?? "";
    const set = (/** @type {Partial<typeof draft>} */ change) => {
      Object.assign(draft, change);
      p.repaint();
    };
    const value = (/** @type {string} */ w) => st.values.find((v) => v[0] === w)?.[1] ?? 0;
    return h(
      "div",
      { class: "rp-keeprow" },
      h("span", { class: "ra-label", text: machine ? t`A proposal, mostly the machine's. Sure?` : t`How sure?` }),
      oneOf(t`How sure`, words, now, (w) => set({ confidence: value(w) }), "ks"),
      h("span", { class: "ra-label", text: t`as|status of a reading` }),
      oneOf(t`Status`, st.statuses, draft.status, (v) => set({ status: v }), "kst"),
    );
  }
  /** Why: kept with the reading. @param {() => void} write */
  why(write) {
    const { draft } = this;
    const evidence = h("input", {
      type: "text",
      class: "ra-input rp-why",
      lang: "ja",
      placeholder: WHY(),
      "aria-label": WHY(),
      value: draft.evidence,
      "data-key": "kev",
      oninput: () => {
        draft.evidence = evidence.value;
      },
    });
    evidence.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
      if (e.key !== "Enter" || e.isComposing || e.keyCode === 229) return;
      e.preventDefault();
      write();
    });
    return evidence;
  }
  /** @param {number} i @param {boolean} machine */
  write(i, machine) {
    const { p, draft } = this,
      own = i === -2;
    const what = own ? { text: p.drawer.own.input.value } : { index: i, turn: p.st.turn, seen: machine };
    p.ask(own ? "keep_own" : "keep", { ...draft, ...what }).then(() => {
      if (!p.fault.textContent) {
        p.keeping = -1;
        draft.evidence = "";
      }
      p.paint();
    });
  }
}
