// The photograph on its mat, a board of parts that it holds: view, marks, hand, light, and the cards beside it.
import { button, h, refill } from "./kit.js";
import { Cards } from "./mat_cards.js";
import { skeleton } from "./mat_frame.js";
import { Hand } from "./mat_hand.js";
import { Light } from "./mat_light.js";
import { Marks } from "./mat_marks.js";
import { Pins } from "./mat_pins.js";
import { View } from "./mat_view.js";
import { panel } from "./panel_frame.js";
import { inLanguage, t } from "./texts.js";
import { workBar } from "./work_bar.js";

/** @typedef {import("./board_states.js").PhotoBoardState} State */

/** What stands beside the photograph: where any of it changed the cards are made again.
 * @type {(keyof State)[]} */
const BESIDE = [
  "stage",
  "photos",
  "scale",
  "selected",
  "advice",
  "computed",
  "about",
  "notes",
  "question",
  "corrections",
  "ruler",
  "inscription",
  "inscriptions",
  "kind",
  "busy",
  "trouble",
  "over",
];

/** What a gesture on the marks changes: where nothing else did, the photograph and its light stay as they stand.
 * @type {Set<keyof State>} */
const OF_MARKS = new Set([
  "zones",
  "elsewhere",
  "selected",
  "usual",
  "across",
  "advice",
  "advice_others",
  "inscriptions",
  "inscription",
  "kind",
  "kind_words",
  "question",
]);

/** What the cards show of the marks, as one text that is equal where they would look the same. @param {State} st */
const ofMarks = ({ zones, selected }) =>
  JSON.stringify([zones.length, zones.find((z) => z.id === selected), zones.filter((z) => z.faint).length]);

/** The board: the state of the desk, the elements of the mat, and the parts that work on them. */
export class Board {
  /** @param {import("./panel_frame.js").Given} given */
  constructor(given) {
    /** @type {import("./panel_frame.js").Panel<import("./messages.js").PhotoBoardAsks, import("./board_states.js").PhotoBoardState>} */
    const frame = panel(given, "pb", t`The photograph`);
    this.root = frame.root;
    this.body = frame.body;
    this.say = frame.say;
    this.ask = frame.ask;
    this.on = frame.on;
    this.signal = given.signal;
    this.model = given.model;
    this.editing = Boolean(given.model.get("editing"));
    this.mode = "hand";
    this.looked = false;
    this.proposing = false;
    /** @type {Partial<State>} */ const none = { zones: [], photos: [], companions: [], width: 1, height: 1 };
    this.st = /** @type {State} */ (none);
    const { canvas, host, side, work, trouble, area, curve, svg, mini } = skeleton(this);
    this.canvas = canvas;
    this.host = host;
    this.side = side;
    this.work = work;
    this.trouble = trouble;
    this.area = area;
    this.curve = curve;
    this.view = new View(this, host, canvas, mini);
    this.marks = new Marks(this, svg);
    this.light = new Light(this);
    this.hand = new Hand(this);
    this.cards = new Cards(this, side);
    this.pins = new Pins(this);
    Object.assign(this.root, { boardStats: this.view.stats });
    this.view.store.listen();
    this.hand.listen();
    this.hand.setMode("hand", true);
    this.marks.show("ticks");
    this.listen();
    frame.show((now) => this.take(now));
    frame.letters();
  }

  // --- what the parts ask of the whole ------------------------------------------------------------
  /** Marks may be moved and resized. */
  changing() {
    return this.editing && this.st.stage === "marks" && this.mode === "hand";
  }
  /** The bench is alone in the window. */
  alone() {
    return document.body.classList.contains("readaid-desk");
  }
  painted() {
    this.light.zoom.textContent = `${Math.round(this.view.k * 100)} %`;
  }
  /** One of several, by Shift and a click; what was chosen alone goes along. @param {string} id */
  choose(id) {
    const { several } = this.marks;
    if (!several.size && this.st.selected && this.st.selected !== id) several.add(this.st.selected);
    if (!several.delete(id)) several.add(id);
    this.marks.paint();
    this.cards.paint();
  }
  /** Several marks are let go. */
  let() {
    if (!this.marks.several.size) return;
    this.marks.several.clear();
    this.marks.paint();
    this.cards.paint();
  }
  /** The box of pixels that is on the screen, null where that is the whole photograph. */
  onScreen() {
    const { view, st } = this,
      [w, hh] = view.inside(),
      a = view.pixel(0, 0),
      b = view.pixel(w, hh);
    const x = Math.max(0, Math.round(Math.min(a[0], b[0]))),
      y = Math.max(0, Math.round(Math.min(a[1], b[1])));
    const wide = Math.min(st.width, Math.round(Math.max(a[0], b[0]))) - x,
      high = Math.min(st.height, Math.round(Math.max(a[1], b[1]))) - y;
    return view.whole || wide < 8 || high < 8 ? null : [x, y, wide, high];
  }

  // --- a new state of the desk ------------------------------------------------------------------
  /** @param {State} now */
  take(now) {
    if (!now?.tile) return;
    const was = this.st,
      other = now.photo !== was.photo,
      moved = now.stage !== was.stage,
      grown = now.zones.length > was.zones.length;
    const same = BESIDE.every((k) => was[k] === now[k]) && ofMarks(was) === ofMarks(now);
    this.st = now;
    if (this.marks.local && !this.hand.drag && !this.hand.nudge) this.marks.local = null;
    if (moved) this.stage(was);
    if (now.layer !== this.view.layer) this.look(other);
    if (other) this.turnTo(was);
    if (grown && !other) this.proposed();
    this.root.dataset.zones = String(now.zones.length);
    this.marks.paint();
    const told = /** @type {(keyof State)[]} */ (Object.keys(now));
    if (!told.every((k) => OF_MARKS.has(k) || was[k] === now[k])) this.paintPhoto();
    if (!same || moved || other) this.cards.paint();
    if (!other && now.selected !== was.selected && now.selected && this.view.fitted) this.view.showZone(now.selected);
  }
  /** All that is no mark: notes, light, mat, what works and what fails, the photograph itself. */
  paintPhoto() {
    this.pins.paint();
    this.light.paint();
    this.root.dataset.mat = this.st.mat;
    this.paintWork();
    this.paintTrouble();
    this.view.draw();
    setTimeout(() => this.light.foresee(), 400);
  }
  /** Another place of the bench. @param {State} was */
  stage(was) {
    if (this.mode !== "hand") this.hand.setMode("hand", true);
    if (this.st.stage === "reading" && was.stage && this.view.whole && this.view.fitted)
      setTimeout(() => this.view.fitZones(), 0); // signs are read near
  }
  /** Another look of the photograph, or another photograph. @param {boolean} other */
  look(other) {
    const { view, model } = this,
      { layer } = this.st;
    view.store.relayer(layer, other);
    if (model.get("overview_layer") === layer) view.store.takeOverview(model.get("overview"), layer);
    else if (other || !view.overviews.has(layer)) this.ask("overview", { layer }); // what was sent before this page listened is lost
  }
  /** Another photograph lies on the mat. @param {State} was */
  turnTo(was) {
    this.hand.dots.points = [];
    if (this.mode !== "hand" && this.mode !== "draw") this.hand.setMode("hand", true);
    const beside = was.companions?.find((c) => c.id === this.st.photo);
    this.view.follow(beside?.frame ?? null, was);
    this.light.changed(was);
  }
  /** Which photograph lies there, when the keys come to it: where a screen reader takes the mat for a program of its own, it
   * says nothing on the way in. */
  tellPhoto() {
    const p = this.st.photos?.find((x) => x.id === this.st.photo);
    if (!p || !this.host.matches(":focus-visible")) return;
    const what = [...new Set([p.surface, this.light.word(p), p.title])].filter(Boolean).join(t`, `);
    this.say(t`On the mat: ${what}; marks: ${this.st.zones.length}.`, "quiet");
  }
  /** Long work under way. */
  paintWork() {
    const stop = () => {
      this.cards.pictures.upload.stop();
      this.ask("stop");
    };
    refill(this.work, ...workBar(this.st.busy, stop));
  }
  /** Why the photograph cannot be shown. */
  paintTrouble() {
    const told = this.st.trouble ?? "",
      box = this.trouble;
    box.hidden = !told;
    if ((box.dataset.told ?? "") === told) return;
    box.dataset.told = told;
    if (!told) return box.replaceChildren();
    box.replaceChildren(
      h("strong", { text: t`The photograph cannot be shown` }),
      h("p", { text: told }),
      button(t`Try again`, () => this.ask("again"), { class: "ra-button ra-main", "data-key": "again" }),
    );
  }

  // --- what happens to it -----------------------------------------------------------------------
  listen() {
    const { signal, host } = this;
    this.on("go", (x) => {
      this.view.showZone(x.zone);
      if (x.focus) this.marks.focus(x.zone);
    });
    if (this.editing) this.receive(host);
    document.addEventListener("keydown", (e) => this.anywhere(e), { signal, capture: true });
    const watch = new ResizeObserver(() => {
      this.view.measure();
      if (this.view.whole && this.view.fitted) this.view.fit();
      else this.view.draw();
      this.light.paintTicks();
    });
    watch.observe(host);
    signal.addEventListener("abort", () => watch.disconnect());
  }
  /** Photographs dropped on the mat. @param {HTMLElement} host */
  receive(host) {
    const { signal } = this;
    host.addEventListener("focus", () => this.tellPhoto(), { signal });
    host.addEventListener("dragover", (e) => e.dataTransfer?.types.includes("Files") && e.preventDefault(), { signal });
    host.addEventListener(
      "drop",
      (e) => {
        if (!e.dataTransfer?.files.length) return;
        e.preventDefault();
        e.stopPropagation();
        this.cards.pictures.upload.send([...e.dataTransfer.files]);
      },
      { signal },
    );
  }
  /** A lamp from anywhere on the bench: the hand need not leave the sign. @param {KeyboardEvent} e */
  anywhere(e) {
    if (!e.altKey || e.ctrlKey || e.metaKey || !this.root.closest(".ra-bench")?.contains(document.activeElement))
      return;
    if (!(e.code?.startsWith("Digit") || e.key === " ") || !this.light.key(e)) return;
    e.preventDefault();
    e.stopPropagation();
  }
  close() {
    clearTimeout(this.hand.nudge);
    this.view.store.close();
  }
  /** Zones that were proposed are there: they are looked at from near. */
  proposed() {
    if (this.proposing && this.view.whole) this.view.fitZones();
    this.proposing = false;
  }
}

/** @param {import("./panel_frame.js").Given} given */
function render(given) {
  const board = new Board(given);
  return () => board.close();
}

export default { render: inLanguage(render) };
