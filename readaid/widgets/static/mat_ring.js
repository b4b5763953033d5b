// What lies above the marks, in screen pixels: the ring round the chosen sign with its grips, what is offered, measured lines.
import { s } from "./kit.js";
import { t } from "./texts.js";

/** @typedef {import("./mat_marks.js").Zone} Zone */
const GRIPS = /** @type {[string, number, number][]} */ ([
  ["nw", 0, 0],
  ["n", 0.5, 0],
  ["ne", 1, 0],
  ["e", 1, 0.5],
  ["se", 1, 1],
  ["s", 0.5, 1],
  ["sw", 0, 1],
  ["w", 0, 0.5],
]);
const CURSOR = /** @type {Record<string, string>} */ ({
  nw: "nwse",
  se: "nwse",
  ne: "nesw",
  sw: "nesw",
  n: "ns",
  s: "ns",
  e: "ew",
  w: "ew",
});

/** The ring round the chosen sign, and what waits for a word. */
export class Ring {
  /** @param {import("./mat_marks.js").Marks} marks */
  constructor(marks) {
    this.marks = marks;
    this.m = marks.m;
  }
  /** The ring round the chosen sign, its number beside it, its grips. @param {Zone} z */
  round(z) {
    const { marks, m } = this,
      b = marks.box(z),
      r = m.view.screenBox(b),
      kids = [];
    const points = z.outline && b === z ? z.outline.map((p) => m.view.at(p).join(",")).join(" ") : null;
    for (const cls of ["pb-ring pb-under", "pb-ring"])
      kids.push(
        points
          ? s("polygon", { class: cls, points })
          : s("rect", { class: cls, x: r.x - 2, y: r.y - 2, width: r.w + 4, height: r.h + 4, rx: 2 }),
      );
    if (z.label && (marks.shown !== "numbers" || marks.low)) kids.push(...marks.numbers.alone(z, r));
    if (!m.changing()) return kids;
    const close = r.w < 44 || r.h < 44; // eight grips would hide a small zone
    for (const [c, fx, fy] of GRIPS.filter((g) => !close || g[0] === "nw" || g[0] === "se")) {
      const [cx, cy] = m.view.at([b.x + b.w * fx, b.y + b.h * fy]),
        cursor = `cursor:${CURSOR[c]}-resize`;
      kids.push(
        s("circle", { class: "pb-grip", "data-c": c, cx, cy, r: close ? 4 : 5, style: cursor }),
        s("circle", { class: "pb-hit", "data-c": c, cx, cy, r: close ? 9 : 14, style: cursor }),
      );
    }
    return kids;
  }
  /** What is offered and waits for a word: corrections, a ruler, the lines that make the scale. */
  offers() {
    const { m } = this,
      st = m.st,
      kids = [];
    for (const c of st.corrections ?? [])
      for (const b of c.boxes) {
        const r = m.view.screenBox(b);
        kids.push(s("rect", { class: "pb-offer", x: r.x, y: r.y, width: r.w, height: r.h }));
      }
    if (st.ruler && m.editing)
      kids.push(
        s("polygon", { class: "pb-ruler", points: st.ruler.outline.map((p) => m.view.at(p).join(",")).join(" ") }),
      );
    if (st.scale && m.mode === "scale") {
      kids.push(...this.rule(st.scale.a, st.scale.b, "pb-rule", t`${st.scale.millimetres} mm`));
      if (st.scale.check_a && st.scale.check_b)
        kids.push(
          ...this.rule(st.scale.check_a, st.scale.check_b, "pb-rule pb-rule2", t`${st.scale.check_millimetres} mm`),
        );
    }
    return kids;
  }
  /** A measured line. @param {[number, number]} a @param {[number, number]} b @param {string} cls @param {string} word */
  rule(a, b, cls, word) {
    const [x1, y1] = this.m.view.at(a),
      [x2, y2] = this.m.view.at(b),
      ends = { x1, y1, x2, y2 };
    return [
      s("line", { class: `${cls} pb-under`, ...ends }),
      s("line", { class: cls, ...ends }),
      s("text", { class: "pb-number", x: (x1 + x2) / 2 + 6, y: (y1 + y2) / 2 - 6, text: word }),
    ];
  }
}
