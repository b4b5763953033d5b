// Points that the hand sets: ends of a length, corners, a ball's edges, the middle of a column.
import { beside, clamp } from "./geometry.js";
import { s } from "./kit.js";
import { t } from "./texts.js";

const CORNERS = () => [t`top left`, t`top right`, t`bottom right`, t`bottom left`];
/** Points that are clicked in each mode; Infinity where the hand says when it is done. */
const POINTS = /** @type {Record<string, number>} */ ({ scale: 2, square: 4, sphere: 2, note: 1, bend: Infinity });

/** Points that the hand sets. */
export class Points {
  /** @param {import("./mat_hand.js").Hand} hand */
  constructor(hand) {
    this.hand = hand;
    this.m = hand.m;
    this.points = /** @type {[number,number][]} */ ([]);
    this.cursor = /** @type {[number,number]|null} */ (null);
    this.band = 0;
  }

  // --- points ---------------------------------------------------------------------------------
  mark(/** @type {[number,number]} */ p) {
    const { m } = this,
      most = POINTS[m.mode];
    if (this.points.length === most) this.points = [];
    this.points.push([clamp(p[0], 0, m.st.width), clamp(p[1], 0, m.st.height)]);
    m.marks.tips();
    const full = this.points.length === most,
      given = this.points;
    if (m.mode === "square") {
      if (full) {
        this.hand.setMode("hand");
        m.ask("square_up", { corners: given });
      } else m.say(t`Now the corner that belongs ${CORNERS()[given.length]}.`);
    } else if (m.mode === "sphere") {
      if (full) {
        this.hand.setMode("hand");
        m.ask("sphere", { points: given });
      } else m.say(t`Now its opposite edge.`);
    } else if (m.mode === "note") {
      m.cards.paint();
      /** @type {HTMLElement|null} */ (m.side.querySelector("[data-key=pin-text]"))?.focus();
    } else if (m.mode === "bend") {
      m.say(
        given.length < 2
          ? t`Now further down the column.`
          : t`${given.length} points. Go on, or end with a double click, a right click or Enter.`,
      );
      m.cards.paint();
    } else {
      m.say(full ? t`Now write how long that is, beside the photograph.` : t`Now the other end.`);
      if (full) {
        m.cards.paint();
        /** @type {HTMLElement|null} */ (m.side.querySelector("input[inputmode=decimal]"))?.focus();
      }
    }
  }
  endBend() {
    const { m } = this,
      line = this.points.filter(
        (p, i) => !i || Math.hypot(p[0] - this.points[i - 1][0], p[1] - this.points[i - 1][1]) * m.view.k > 4,
      ); // a double click marks twice
    if (line.length < 2) {
      m.say(t`Click at least two points along the middle of the column first.`);
      return;
    }
    const width = this.band;
    this.hand.setMode("hand");
    m.ask("straighten", { line, width });
  }
  unmark() {
    this.points.pop();
    this.m.cards.paint();
    this.m.marks.tips();
  }
  /** Points, lines and the cross that are not yet kept, in screen pixels. */
  tips() {
    const { points, cursor } = this,
      { m, pointing } = this.hand,
      kids = /** @type {SVGElement[]} */ ([]),
      line = (/** @type {[number,number][]} */ ps) => ps.map((p) => m.view.at(p).join(",")).join(" ");

    if (m.mode === "bend" && points.length)
      for (const side of [-1, 1])
        kids.push(
          s("polyline", {
            class: "pb-band",
            points: line(beside(cursor ? [...points, cursor] : points, (side * this.band) / 2)),
          }),
        );
    if (m.mode === "square" || m.mode === "bend")
      points.slice(1).forEach((p, i) => kids.push(...m.marks.ring.rule(points[i], p, "pb-rule", "")));
    else if (points.length === 2) kids.push(...m.marks.ring.rule(points[0], points[1], "pb-rule", ""));
    for (const p of points) {
      const [cx, cy] = m.view.at(p);
      kids.push(s("circle", { class: "pb-point", cx, cy, r: 6 }));
    }
    if (cursor && pointing) {
      const [x, y] = m.view.at(cursor);
      kids.push(s("path", { class: "pb-cross", d: `M${x - 16} ${y}h32M${x} ${y - 16}v32` }));
    }
    return kids;
  }
}
