// Strokes on the sheet for tracing: steps back and forth, joining at the nearest ends, which stroke is meant.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { Tracing } = await load("tracing_panel.js");

/** A sheet of 100 x 50 with strokes, as far as its steps ask for it. @param {[number, number][][]} strokes */
function sheet(strokes) {
  const one = Object.create(Tracing.prototype);
  Object.assign(one, { strokes, before: [], after: [], chosen: -1, mine: false, running: null, said: [] });
  Object.assign(one, { st: { zone: "z", width: 100, height: 50, locked: false }, tools: { paintBar: () => {} } });
  one.draw = () => {};
  one.say = (/** @type {string} */ words) => one.said.push(words);
  return one;
}
const A = /** @type {[number, number][]} */ ([
    [0, 0],
    [10, 0],
  ]),
  B = /** @type {[number, number][]} */ ([
    [40, 0],
    [12, 0],
  ]);

test("what was rubbed out comes back, and goes again", () => {
  const one = sheet([A, B]);
  one.without(0);
  assert.deepEqual(one.strokes, [B]);
  one.undo();
  assert.deepEqual([one.strokes, one.said.at(-1)], [[A, B], "Undone; 2 strokes."]);
  one.redo();
  assert.deepEqual([one.strokes, one.said.at(-1)], [[B], "Done again; one stroke."]);
  one.redo();
  assert.deepEqual(one.strokes, [B], "nothing more to do again");
});

test("a new step forgets what was taken back", () => {
  const one = sheet([A]);
  one.step([A, B]);
  one.undo();
  one.step([]);
  one.redo();
  assert.deepEqual(one.strokes, []);
});

test("two strokes are joined where their ends are nearest, whichever way they were drawn", () => {
  const one = sheet([A, B]);
  one.join(0);
  assert.equal(one.chosen, 0);
  one.join(1);
  assert.deepEqual(one.strokes, [
    [
      [0, 0],
      [10, 0],
      [12, 0],
      [40, 0],
    ],
  ]);
  assert.equal(one.mine, true);
});

test("a press beside every stroke joins nothing", () => {
  const one = sheet([A, B]);
  one.join(-1);
  assert.deepEqual([one.chosen, one.strokes], [-1, [A, B]]);
});

test("the stroke that is meant is the nearest within a twenty-fifth of the sheet", () => {
  const one = sheet([A, B]);
  assert.equal(one.near([11.5, 0]), 1);
  assert.equal(one.near([10.4, 1]), 0);
  assert.equal(one.near([25, 0]), -1);
});

test("arrows walk the strokes from either end and go round", () => {
  const one = sheet([A, B]);
  one.walk(-1);
  assert.equal(one.chosen, 1);
  one.walk(1);
  assert.deepEqual([one.chosen, one.said.at(-1)], [0, "Stroke 1 of 2."]);
});

test("Delete takes the chosen stroke, else the last; on a locked sheet none", () => {
  const press = (/** @type {string} */ key) => ({ key, ctrlKey: false, metaKey: false, preventDefault: () => {} });
  const one = sheet([A, B]);
  one.chosen = 0;
  one.key(press("Delete"));
  assert.deepEqual(one.strokes, [B]);
  one.key(press("Backspace"));
  assert.deepEqual(one.strokes, []);
  const locked = sheet([A]);
  locked.st.locked = true;
  locked.key(press("Delete"));
  assert.deepEqual(locked.strokes, [A]);
});
