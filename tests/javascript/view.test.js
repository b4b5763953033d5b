// Where the photograph lies on its mat: pixels to screen and back, whichever way it is turned; marks in words.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { View, covering } = await load("mat_view.js");
const { Marks } = await load("mat_marks.js");

/** A mat of 800 x 600 with a photograph of 400 x 200, as far as a view asks for them. */
function laid() {
  const host = {
    clientWidth: 800,
    clientHeight: 600,
    clientLeft: 0,
    clientTop: 0,
    getBoundingClientRect: () => ({ left: 0, top: 0, width: 800, height: 600 }),
  };
  const board = { st: { width: 400, height: 200, zones: [], flip: false }, marks: { lie: () => {} }, on: () => {} };
  const view = new View(board, host, { getContext: () => ({}) }, {});
  view.draw = () => {}; // nothing is painted here
  return view;
}

test("the whole photograph fits and lies in the middle", () => {
  const view = laid();
  view.fit();
  assert.equal(view.k, 2);
  assert.deepEqual(view.screenBox({ x: 0, y: 0, w: 400, h: 200 }), { x: 0, y: 100, w: 800, h: 400 });
});

test("a place of the screen is the pixel that is shown there, in every turn", () => {
  for (const turn of [0, 1, 2, 3]) {
    const view = laid();
    view.turn = turn;
    view.fit();
    for (const p of [
      [0, 0],
      [123, 45],
      [400, 200],
    ]) {
      const [x, y] = view.at(p),
        [px, py] = view.pixel(x, y);
      assert.ok(
        Math.abs(px - p[0]) < 1e-9 && Math.abs(py - p[1]) < 1e-9,
        `turn ${turn}: ${p} came back as ${px}, ${py}`,
      );
    }
  }
});

test("zooming keeps what lies under the pointer where it is", () => {
  const view = laid();
  view.fit();
  const before = view.pixel(600, 300);
  view.zoomAt(3, 600, 300);
  const after = view.pixel(600, 300);
  assert.ok(Math.hypot(after[0] - before[0], after[1] - before[1]) < 1e-9);
  assert.equal(view.k, 6);
});

test("a mirrored file lies under pixels as read", () => {
  const view = laid();
  view.fit();
  const t = view.matrix(true, { flip: true });
  assert.equal(t[0], -2);
  assert.equal(t[0] * 400 + t[4], view.ox); // the right edge of the file at the left
});

test("a mark is said in words", () => {
  const zone = { label: "7", text: "お", mark: "read", sure: "", body: "", home: "" },
    box = { w: 31.4, h: 40 };
  const words = (/** @type {object} */ more) => Marks.prototype.words.call({}, { ...zone, ...more }, box);
  assert.equal(words({}), "Zone 7, read お, 31 by 40 pixels");
  assert.equal(
    words({ text: "", label: "", body: "monogram" }),
    "Zone without a sign, a monogram, outside the text, 31 by 40 pixels",
  );
});

test("a sign at the photograph's edge comes into sight without emptying the mat", () => {
  assert.equal(covering(500, 800, 3000), 24); // its left edge, with a rim for ring and number
  assert.equal(covering(-2900, 800, 3000), -2224); // its right edge
  assert.equal(covering(-700, 800, 3000), -700); // in the middle nothing changes
  assert.equal(covering(300, 800, 400), 200); // smaller than the mat: it stands in the middle
  const view = laid(),
    z = { id: "a", x: 0, y: 0, w: 20, h: 20 };
  view.m.marks.find = () => z;
  view.k = 4;
  [view.ox, view.oy] = [-700, -200];
  view.showZone("a");
  assert.deepEqual([view.ox, view.oy], [24, 24]);
  assert.deepEqual(view.screenBox(z), { x: 24, y: 24, w: 80, h: 80 });
});
