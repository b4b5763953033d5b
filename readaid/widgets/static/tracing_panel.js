// Strokes traced over a sign: drawn by hand, or proposed from the middle lines; kept as vectors.
import { h, refill, s } from "./kit.js";
import { panel } from "./panel_frame.js";
import { Bar } from "./tracing_bar.js";
import { inLanguage, t } from "./texts.js";

/** The sheet for tracing strokes. */
export class Tracing {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    this.model = given.model;
    this.tools = new Bar(this);
    /** @type {AbortSignal} */ this.signal = given.signal;
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").TracingPanelAsks, import("./sign_states.js").TracingPanelState>} */
    const made = panel(given, "np", t`Trace the strokes`);
    this.root = made.root;
    this.body = made.body;
    this.ask = made.ask;
    this.show = made.show;
    this.say = made.say;
    this.st = /** @type {import("./sign_states.js").TracingPanelState} */ ({});
    this.mode = "draw";
    this.strokes = /** @type {[number,number][][]} */ ([]);
    this.mine = false;
    this.running = /** @type {[number,number][]|null} */ (null);
    this.url = "";
    // What was on the sheet before each step, and what was taken back: undo brings a rubbed-out stroke back, too.
    this.drafts = /** @type {Map<string, [number,number][][]>} */ (new Map());
    this.before = /** @type {[number,number][][][]} */ ([]);
    this.after = /** @type {[number,number][][][]} */ ([]);
    this.chosen = -1;
    this.bare = false;
    this.bar = h("div", { class: "ra-bar", role: "toolbar", "aria-label": t`Tracing tools` });
    this.looks = h("div", { class: "ra-group np-looks" });
    this.img = h("img", { alt: t`The chosen sign, to be traced`, class: "np-crop", draggable: "false" });
    this.svg = s("svg", { class: "np-lines", "aria-hidden": "true" });
    /** @type {HTMLElement} */ this.sheet = h(
      "div",
      {
        class: "np-sheet",
        tabindex: "0",
        "data-own-undo": "1",
        role: "application",
        "aria-roledescription": t`tracing sheet`,
        "aria-label": t`Tracing sheet: draw with pointer or pen; Backspace takes the last stroke away, left and right arrow choose a stroke, Delete rubs it out, Control Z undoes`,
      },
      this.img,
      this.svg,
    );
    this.words = h("p", { class: "ra-hint" });
    this.body.append(this.bar, this.looks, this.sheet, this.words);
    this.hear();
    this.show((now) => this.take(now));
    const crop = () => this.paint();
    this.model.on("change:crop", crop);
    this.paint();
    this.signal.addEventListener("abort", () => {
      if (this.url) URL.revokeObjectURL(this.url);
      this.model.off("change:crop", crop);
    });
  }
  /** One step that can be taken back. @param {[number,number][][]} now */
  step(now) {
    this.before.push(this.strokes);
    this.after = [];
    this.strokes = now;
    this.mine = true;
    this.chosen = -1;
    this.draw();
    this.tools.paintBar();
  }
  undo() {
    const was = this.before.pop();
    if (!was) return;
    this.after.push(this.strokes);
    this.strokes = was;
    this.mine = true;
    this.chosen = -1;
    this.draw();
    this.tools.paintBar();
    this.say(t`Undone; ${this.count()}.`, "quiet");
  }
  redo() {
    const was = this.after.pop();
    if (!was) return;
    this.before.push(this.strokes);
    this.strokes = was;
    this.mine = true;
    this.chosen = -1;
    this.draw();
    this.tools.paintBar();
    this.say(t`Done again; ${this.count()}.`, "quiet");
  }
  back() {
    this.root.closest(".ra-bench")?.classList.remove("ra-traced");
  }
  count() {
    return this.strokes.length === 1 ? t`one stroke` : t`${this.strokes.length} strokes`;
  }
  without(/** @type {number} */ i) {
    return this.step(this.strokes.filter((_, n) => n !== i));
  }
  at(/** @type {PointerEvent} */ e) {
    const r = this.svg.getBoundingClientRect();
    return /** @type {[number,number]} */ ([
      ((e.clientX - r.left) / r.width) * this.st.width,
      ((e.clientY - r.top) / r.height) * this.st.height,
    ]);
  }
  near(/** @type {[number,number]} */ p) {
    let best = -1,
      least = Math.max(this.st.width, this.st.height) / 25;
    this.strokes.forEach((q, i) =>
      q.forEach((x) => {
        const d = Math.hypot(x[0] - p[0], x[1] - p[1]);
        if (d < least) {
          least = d;
          best = i;
        }
      }),
    );
    return best;
  }
  up() {
    if (!this.running) return;
    const made = this.running;
    this.running = null;
    this.step([...this.strokes, made]);
  }
  draw() {
    this.svg.setAttribute("viewBox", `0 0 ${this.st.width || 1} ${this.st.height || 1}`);
    const thick = Math.max(this.st.width, this.st.height) / 70;
    this.img.classList.toggle("np-bare", this.bare);
    refill(
      this.svg,
      [...this.strokes, ...(this.running ? [this.running] : [])].map((q, i) =>
        q.length === 1
          ? s("circle", {
              cx: q[0][0],
              cy: q[0][1],
              r: thick * 0.9,
              class: i === this.chosen ? "np-dot np-chosen" : "np-dot",
            })
          : [
              s("polyline", {
                points: q.map((p) => p.join(",")).join(" "),
                class: "np-under",
                "stroke-width": thick * 1.9,
              }),
              s("polyline", {
                points: q.map((p) => p.join(",")).join(" "),
                class: i === this.chosen ? "np-stroke np-chosen" : "np-stroke",
                "stroke-width": thick,
              }),
            ],
      ),
    );
    this.root.dataset.strokes = String(this.strokes.length);
  }
  paint() {
    const bytes = this.model.get("crop");
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = bytes?.byteLength ? URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" })) : "";
    if (this.url) this.img.src = this.url;
    else this.img.removeAttribute("src");
  }
  /** What the hand does on the sheet. */
  hear() {
    const { sheet, signal } = this;
    sheet.addEventListener("pointerdown", (/** @type {PointerEvent} */ e) => this.down(e), { signal });
    sheet.addEventListener("pointermove", (/** @type {PointerEvent} */ e) => this.move(e), { signal });
    sheet.addEventListener("pointerup", () => this.up(), { signal });
    sheet.addEventListener("pointercancel", () => this.up(), { signal });
    sheet.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => this.key(e), { signal });
  }
  /** @param {PointerEvent} e */
  down(e) {
    if (!this.st.zone || this.st.locked) return;
    e.preventDefault();
    this.sheet.focus({ preventScroll: true });
    if (e.button) return;
    if (this.mode === "erase") {
      const i = this.near(this.at(e));
      if (i >= 0) this.without(i);
      return;
    }
    if (this.mode === "join") return this.join(this.near(this.at(e)));
    this.sheet.setPointerCapture(e.pointerId);
    this.running = [this.at(e)];
    this.draw();
  }
  /** Two strokes become one, joined where their ends are nearest: the first press chooses, the second joins.
   * @param {number} i */
  join(i) {
    const k = this.chosen;
    if (i < 0) return;
    if (k < 0 || k === i) {
      this.chosen = i;
      this.draw();
      this.say(t`Press the stroke that goes on from this one.`, "quiet");
      return;
    }
    const far = (/** @type {[number,number][]} */ p, /** @type {[number,number][]} */ q) =>
      Math.hypot(p[p.length - 1][0] - q[0][0], p[p.length - 1][1] - q[0][1]);
    const turned = (/** @type {[number,number][]} */ q) => [q, [...q].reverse()];
    const ways = turned(this.strokes[k]).flatMap((p) => turned(this.strokes[i]).map((q) => ({ p, q, far: far(p, q) })));
    const best = ways.reduce((a, b) => (b.far < a.far ? b : a));
    const others = this.strokes.filter((_, n) => n !== i && n !== k);
    this.step([...others, [...best.p, ...best.q]]);
    this.say(t`Joined; ${this.count()}.`, "quiet");
  }
  /** @param {PointerEvent} e */
  move(e) {
    if (!this.running) return;
    const p = this.at(e),
      last = this.running[this.running.length - 1];
    if (Math.hypot(p[0] - last[0], p[1] - last[1]) > this.st.width / 150) {
      this.running.push(p);
      this.draw();
    }
  }
  /** @param {KeyboardEvent} e */
  key(e) {
    const way = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key],
      letter = e.ctrlKey || e.metaKey ? e.key.toLowerCase() : "";
    if (letter === "y" || (letter === "z" && e.shiftKey)) this.redo();
    else if (letter === "z") this.undo();
    else if (e.key === "Escape") this.leave();
    else if (e.key === "PageDown" || e.key === "PageUp") this.ask("step", { by: e.key === "PageDown" ? 1 : -1 });
    else if (way && this.strokes.length) this.walk(way);
    else if ((e.key === "Backspace" || e.key === "Delete") && this.strokes.length && !this.st.locked)
      this.without(this.chosen >= 0 ? this.chosen : this.strokes.length - 1);
    else return;
    e.preventDefault();
  }
  /** The next stroke, or the one before, is chosen. @param {number} way */
  walk(way) {
    const n = this.strokes.length,
      from = this.chosen < 0 && way < 0 ? 0 : this.chosen;
    this.chosen = (from + way + n) % n;
    this.draw();
    this.say(t`Stroke ${this.chosen + 1} of ${n}.`, "quiet");
  }
  /** Escape: let go of a stroke, else go back to the sign. */
  leave() {
    if (this.chosen < 0 && !this.running) this.back();
    this.chosen = -1;
    this.running = null;
    this.draw();
  }
  /** A new state of the desk. @param {import("./sign_states.js").TracingPanelState} now */
  take(now) {
    if (!now?.ready) return;
    const other = now.turn !== this.st.turn,
      went = now.zone !== this.st.zone;
    if (went && this.mine && this.st.zone) this.drafts.set(this.st.zone, this.strokes); // strokes not yet kept wait until the reader comes back
    this.st = now;
    if (other) {
      this.strokes = this.st.strokes.map((q) => q.map(([x, y]) => /** @type {[number, number]} */ ([x, y])));
      this.mine = false;
      this.before = [];
      this.after = [];
      this.chosen = -1;
      this.running = null;
    }
    const draft = went ? this.drafts.get(this.st.zone) : null;
    if (draft) {
      this.drafts.delete(this.st.zone);
      this.step(draft);
      this.say(t`Strokes that were not kept are here again.`, "quiet");
    }
    this.sheet.hidden = !this.st.zone;
    this.draw();
    this.tools.paintBar();
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  new Tracing(given);
}

export default { render: inLanguage(render) };
