// Numbers beside the marks of crowded pieces: off the writing, off one another, and none is lost.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { Numbers, numberPlaces, tie, within } = await load("mat_numbers.js");

/** @typedef {{x:number,y:number,w:number,h:number}} Box */
const meets = (/** @type {Box} */ a, /** @type {Box} */ b) =>
  a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;

/** 103 signs strewn over a mat by a fixed rule; some run into each other. */
const strewn = [...Array(103)].map((_, i) => ({
  x: ((i * 7919) % 400) + 20,
  y: ((i * 104729) % 300) + 20,
  w: 18 + (i % 5) * 4,
  h: 20 + (i % 7) * 4,
}));
const labels = strewn.map((_, i) => (i % 9 === 4 ? `${i + 1}·${i + 2}` : String(i + 1)));

test("a sign with room about it has its number at the right, at the height of its head", () => {
  assert.deepEqual(numberPlaces([{ x: 10, y: 20, w: 30, h: 40 }], ["7"]), [
    { x: 44, y: 20, w: 6.8, h: 12, tied: false, over: false },
  ]);
});

test("among 103 strewn and joined signs no number lies on writing or on another, and each has one", () => {
  const places = numberPlaces(strewn, labels);
  assert.equal(places.filter(Boolean).length, 103);
  const found = /** @type {any[]} */ (places);
  assert.ok(found.every((p) => !strewn.some((b) => meets(p, b))));
  assert.ok(found.every((p, i) => found.every((q, j) => i === j || !meets(p, q))));
  assert.ok(found.some((p) => p.tied)); // a crowd: some stand further out
  const far = (/** @type {any} */ p, /** @type {Box} */ b) => {
    const [[x1, y1], [x2, y2]] = tie(p, b);
    return Math.hypot(x2 - x1, y2 - y1);
  };
  assert.ok(found.every((p, i) => p.tied === (far(p, strewn[i]) > 4.001 || p.x < strewn[i].x + strewn[i].w)));
});

test("a number of several figures has the room that it takes", () => {
  const sign = { x: 10, y: 20, w: 30, h: 40 },
    close = { x: 60, y: 0, w: 30, h: 80 };
  const [one, two] = ["7", "17"].map((label) => numberPlaces([sign, close], [label, ""])[0]);
  assert.deepEqual([one.x, one.w], [44, 6.8]);
  assert.equal(two.w, 13.6);
  assert.ok(!meets(two, close) && !meets(two, sign)); // 44 and 13.6 more end before 60; three figures would not
  assert.ok(numberPlaces([sign, close], ["117", ""])[0].x < 10);
});

test("the chosen sign's number keeps off its grips and its neighbours, and only those are asked", () => {
  const zone = { id: "a", x: 100, y: 100, w: 30, h: 40 },
    right = { id: "b", x: 140, y: 90, w: 40, h: 60 },
    far = { id: "c", x: 900, y: 110, w: 10, h: 10 },
    asked = /** @type {string[]} */ ([]);
  const element = (/** @type {string} */ tag) => {
    const e = /** @type {any} */ ({ tag });
    e.setAttribute = (/** @type {string} */ k, /** @type {any} */ v) => (e[k] = v);
    return e;
  };
  Object.assign(globalThis, {
    document: { createElementNS: (/** @type {any} */ _, /** @type {string} */ t) => element(t) },
  });
  const view = {
    pixel: (/** @type {number} */ x, /** @type {number} */ y) => [x, y],
    screenBox: (/** @type {any} */ z) => (asked.push(z.id), z),
  };
  const numbers = new Numbers({ m: { view, st: { zones: [zone, right, far] } }, numbered: () => "17" });
  const words = numbers.alone(zone, zone).find((/** @type {any} */ e) => e.tag === "text"),
    place = { x: words.x, y: words.y - 11, w: 13.6, h: 12 };
  assert.ok(!meets(place, right), "on a neighbour's writing");
  assert.ok(!meets(place, { x: 95, y: 95, w: 40, h: 50 }), "on the grips, five pixels outside the sign");
  assert.deepEqual(asked, ["b"]);
});

test("how much of a line lies within a box", () => {
  const box = { x: 10, y: 10, w: 20, h: 10 };
  assert.equal(
    within(
      [
        [0, 15],
        [40, 15],
      ],
      box,
    ),
    19,
  ); // half a pixel of each edge is not within
  assert.equal(
    within(
      [
        [20, 0],
        [20, 12],
      ],
      box,
    ),
    1.5,
  );
  assert.equal(
    within(
      [
        [0, 10],
        [40, 10],
      ],
      box,
    ),
    0,
  ); // along the edge
  assert.equal(
    within(
      [
        [0, 0],
        [9, 9],
      ],
      box,
    ),
    0,
  );
  assert.equal(
    within(
      [
        [15, 15],
        [15, 15],
      ],
      box,
    ),
    0,
  ); // no length
});

test("a tie leaves where there is no writing; one that cannot is told, and no number lies on a tie", () => {
  const places = /** @type {any[]} */ (numberPlaces(strewn, labels));
  const ties = places.map((p, i) => (p.tied ? tie(p, strewn[i]) : null));
  const crosses = (/** @type {any} */ line) => Boolean(line) && strewn.some((b) => within(line, b) > 0);
  assert.deepEqual(
    ties.map(crosses),
    places.map((p) => p.over),
  );
  assert.equal(ties.filter(crosses).length, 10); // of 87; from the nearest free place 21 do
  const shown = ties.filter((line, i) => line && !places[i].over);
  places.forEach((p, i) =>
    assert.ok(
      shown.every((line) => line === ties[i] || within(/** @type {any} */ (line), p) === 0),
      labels[i],
    ),
  );
});

test("a sign between two others has its number above, not across its neighbour", () => {
  const row = [0, 1, 2].map((n) => ({ x: 20 + n * 32, y: 40, w: 30, h: 30 }));
  const [, middle] = /** @type {any[]} */ (numberPlaces(row, ["1", "22", "3"]));
  assert.ok(middle.y + middle.h <= 40 || middle.y >= 70);
  assert.equal(middle.over, false);
});

test("where there is no room at all there is no number", () => {
  const full = [...Array(1600)].map((_, i) => ({ x: (i % 40) * 30, y: Math.floor(i / 40) * 30, w: 30, h: 30 })),
    inner = 20 * 40 + 20;
  const places = numberPlaces(
    full,
    full.map((_, i) => (i === inner ? "821" : "")),
  );
  assert.equal(places[inner], null);
});
