// What a press on the photograph begins, what letting go keeps, and what keys do to a mark.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { grasp } = await load("mat_grasp.js");
const { Hand } = await load("mat_hand.js");
const { Keys } = await load("mat_keys.js");

const ZONE = { id: "z", x: 10, y: 20, w: 30, h: 40 };

/** A hand on a photograph of 400 x 200 with one zone, which is chosen; what was asked and done. @param {object} [more] */
function hand(more = {}) {
  const done = /** @type {unknown[][]} */ ([]);
  const note =
    (/** @type {string} */ name) =>
    (/** @type {unknown[]} */ ...args) =>
      void done.push([name, ...args]);
  const m = {
    st: { width: 400, height: 200, zones: [ZONE], selected: "z" },
    mode: "hand",
    editing: true,
    changing: () => true,
    say: note("say"),
    choose: note("choose"),
    let: note("let"),
    ask: (/** @type {string} */ what, /** @type {object} */ args) => {
      done.push(["ask", what, args]);
      return Promise.resolve();
    },
    view: {
      ox: 5,
      oy: 6,
      k: 1,
      toImage: () => [100, 50],
      draw: () => {},
      moved: note("moved"),
      showZone: note("showZone"),
      middle: note("middle"),
    },
    marks: {
      find: (/** @type {string} */ id) => (id === "z" ? ZONE : undefined),
      chosen: () => ZONE,
      box: (/** @type {object} */ z) => z,
      several: new Set(),
      expected: new Set(),
      local: null,
      tips: () => {},
      paint: () => {},
      focus: () => {},
    },
    cards: { paint: () => {} },
    light: { key: () => false },
    host: { focus: () => {} },
    ...more,
  };
  return { hand: new Hand(m), m, done };
}
/** A press on what a selector finds. @param {Record<string, string>} at what stands there, by selector @param {object} [more] */
const press = (at, more = {}) => ({
  button: 0,
  clientX: 50,
  clientY: 60,
  pointerId: 1,
  shiftKey: false,
  target: {
    getAttribute: (/** @type {string} */ name) => at[name] ?? null,
    closest: (/** @type {string} */ what) => (Object.hasOwn(at, what) ? { getAttribute: () => at[what] } : null),
  },
  ...more,
});

test("what a press begins depends on the tool, the button and what lies under it", () => {
  const kind = (/** @type {object} */ more, /** @type {Record<string, string>} */ at, event = {}) =>
    grasp(hand(more).hand, press(at, event)).kind;
  assert.equal(kind({}, {}), "pan");
  assert.equal(kind({}, { ".pb-cut": "" }), "cut");
  assert.equal(kind({}, { ".pb-zone": "z" }), "move", "the chosen mark is moved");
  assert.equal(kind({}, { ".pb-zone": "z" }, { shiftKey: true }), "among");
  assert.equal(kind({}, { ".pb-zone": "z" }, { button: 2 }), "pan", "the right button moves the photograph");
  assert.equal(kind({}, { "data-c": "nw" }), "corner");
  assert.equal(kind({ changing: () => false }, { "data-c": "nw" }), "pan");
  assert.equal(kind({ mode: "draw" }, { ".pb-zone": "z" }), "draw");
  assert.equal(kind({ mode: "draw", editing: false }, {}), "pan");
  assert.equal(kind({ mode: "lasso" }, {}), "lasso");
  assert.equal(kind({ mode: "scale" }, {}), "mark");
});

test("a grip without a chosen mark resizes nothing", () => {
  const { hand: one, m } = hand();
  m.marks.chosen = /** @type {any} */ (() => undefined);
  assert.equal(grasp(one, press({ "data-c": "nw" })).kind, "pan");
});

test("a press that moves nothing chooses what lies there, or lets go", () => {
  const { hand: one, m, done } = hand();
  m.st.selected = "";
  one.drag = grasp(one, press({ ".pb-zone": "z" }));
  one.up(press({}));
  assert.deepEqual(done.at(-1), ["ask", "select", { zone: "z" }]);
  one.drag = { ...grasp(one, press({})), far: true };
  const before = done.length;
  one.up(press({}));
  assert.equal(done.length, before, "the photograph was moved: nothing is chosen");
});

test("a zone is drawn only where the hand went some way", () => {
  const { hand: one, done } = hand();
  one.drag = { kind: "draw", p0: [10, 10], cur: [13, 12] };
  one.up(press({}));
  assert.equal(done[0][0], "say");
  one.drag = { kind: "draw", p0: [30, 40], cur: [10, 10] };
  one.up(press({}));
  assert.deepEqual(done.at(-1), ["ask", "add_zone", { box: [10, 10, 20, 30] }]);
});

test("a moved mark is kept once, a mark that was only pressed is not", () => {
  const { hand: one, m, done } = hand();
  one.drag = { kind: "move", id: "z", p0: [0, 0], b0: ZONE };
  one.up(press({}));
  assert.deepEqual(done, []);
  m.marks.local = /** @type {any} */ ({ id: "z", box: { ...ZONE, x: 12 } });
  one.drag = { kind: "move", id: "z", p0: [0, 0], b0: ZONE, moved: true };
  one.up(press({}));
  assert.deepEqual(done, [["ask", "change_zone", { zone: "z", box: [12, 20, 30, 40] }]]);
});

test("arrows move a mark by one pixel or ten, with Alt it grows, and never out of the photograph", () => {
  const { hand: one, m } = hand();
  const keys = new Keys(one);
  /** @type {any} */ (globalThis).window = { setTimeout: () => 1 };
  const box = (/** @type {[number, number]} */ way, more = {}) => {
    keys.nudge(ZONE, way, { shiftKey: false, altKey: false, ...more });
    const { x, y, w, h } = /** @type {any} */ (m.marks.local).box;
    return [x, y, w, h];
  };
  assert.deepEqual(box([1, 0]), [11, 20, 30, 40]);
  assert.deepEqual(box([0, -1], { shiftKey: true }), [10, 10, 30, 40]);
  assert.deepEqual(box([1, 0], { altKey: true }), [10, 20, 31, 40]);
  m.st.width = 41;
  assert.deepEqual(box([1, 0], { shiftKey: true }), [11, 20, 30, 40]);
  assert.deepEqual(box([1, 0], { shiftKey: true, altKey: true }), [10, 20, 31, 40]);
});

test("keys that change marks do nothing where marks are not changed", () => {
  /** @type {any} */ (globalThis).document = { activeElement: null };
  const press1 = { key: "Delete", target: { closest: () => null }, preventDefault: () => {} };
  const away = hand({ changing: () => false });
  new Keys(away.hand).key(press1);
  assert.deepEqual(away.done, []);
  const here = hand();
  new Keys(here.hand).key(press1);
  assert.deepEqual(here.done, [["ask", "delete_zone", { zone: "z" }]]);
});
