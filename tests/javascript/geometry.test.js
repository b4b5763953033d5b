// Geometry of the mat, held against plain arithmetic and against itself the other way round.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { beside, boxBetween, clamp, localContrast, movedBox, reshaped, through, turned, unturned, within } =
  await load("geometry.js");
const W = 400,
  H = 300;

test("a quarter turn takes the top left to the top right, and each turn has its way back", () => {
  assert.deepEqual(turned([0, 0], 1, W, H), [H, 0]); // the turned picture is H wide
  for (const turn of [0, 1, 2, 3])
    for (const p of [
      [0, 0],
      [17, 250],
      [400, 300],
    ])
      assert.deepEqual(unturned(turned(p, turn, W, H), turn, W, H), p);
});

test("four quarters are no turn", () => {
  let p = [120, 40],
    size = [W, H];
  for (let n = 0; n < 4; n++) {
    p = turned(p, 1, size[0], size[1]);
    size = [size[1], size[0]];
  }
  assert.deepEqual(p, [120, 40]);
});

test("a matrix is read in the order of the canvas: a, b, c, d, e, f", () => {
  assert.deepEqual(through([1, 2, 3, 4, 5, 6], [10, 100]), [315, 426]);
});

test("a box lies between two corners, whichever came first, in whole pixels inside the picture", () => {
  assert.deepEqual(boxBetween([90.4, 80.6], [-20, 10.2], W, H), { x: 0, y: 10, w: 90, h: 71 });
  assert.deepEqual(boxBetween([390, 290], [900, 900], W, H), { x: 390, y: 290, w: 10, h: 10 });
});

test("a corner drawn over the opposite one turns the box inside out and keeps it a box", () => {
  const b = { x: 100, y: 100, w: 50, h: 50 };
  assert.deepEqual(reshaped(b, "se", [120, 130], W, H), { x: 100, y: 100, w: 20, h: 30 });
  assert.deepEqual(reshaped(b, "e", [60, 999], W, H), { x: 60, y: 100, w: 40, h: 50 });
  assert.deepEqual(reshaped(b, "nw", [90, 80], W, H), { x: 90, y: 80, w: 60, h: 70 });
});

test("a box that is moved stays inside and keeps its size", () => {
  assert.deepEqual(movedBox({ x: 10, y: 10, w: 50, h: 40, id: "z" }, -99, 999, W, H), {
    x: 0,
    y: 260,
    w: 50,
    h: 40,
    id: "z",
  });
});

test("a lasso holds what lies inside, also where it bends inward", () => {
  const bay = [
    [0, 0],
    [100, 0],
    [100, 100],
    [50, 20],
    [0, 100],
  ];
  assert.equal(within([10, 40], bay), true);
  assert.equal(within([50, 60], bay), false); // in the bay
  assert.equal(within([50, 10], bay), true);
  assert.equal(within([150, 50], bay), false);
});

test("a line beside a line keeps its distance", () => {
  const line = /** @type {[number, number][]} */ ([
    [0, 0],
    [30, 40],
    [60, 80],
  ]);
  const other = beside(line, 5);
  line.forEach((p, i) => assert.ok(Math.abs(Math.hypot(other[i][0] - p[0], other[i][1] - p[1]) - 5) < 1e-9));
});

test("clamp", () => assert.deepEqual([clamp(-1, 0, 5), clamp(9, 0, 5), clamp(3, 0, 5)], [0, 5, 3]));

test("local contrast spreads a faint step and leaves an even ground even", () => {
  const side = 40,
    px = new Uint8ClampedArray(side * side * 4).fill(255);
  for (let i = 0; i < side * side; i++) px.fill(i % side < 20 ? 100 : 108, 4 * i, 4 * i + 3);
  localContrast(px, side, side, 8);
  const at = (/** @type {number} */ x) => px[4 * (20 * side + x)];
  assert.ok(at(22) - at(17) > 16, `${at(17)} ${at(22)}`);
  assert.equal(at(2), at(6));
  assert.equal(px[3], 255); // opacity is not touched
});
