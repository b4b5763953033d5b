// Brightness and midtones of each photograph, the lift of a dark one, and the place that stays when a lamp changes.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { Tone } = await load("mat_tone.js");
const { View } = await load("mat_view.js");

/** A tone on a mat whose photograph has one grey; what was said, and the canvas. @param {number} grey */
function toned(grey) {
  const said = /** @type {string[]} */ ([]),
    canvas = { style: { filter: "" } },
    gamma = { value: "1", setAttribute: (/** @type {string} */ _, /** @type {string} */ v) => (gamma.value = v) };
  const px = new Uint8ClampedArray(64 * 64 * 4).fill(grey);
  const paper = { getContext: () => ({ drawImage: () => {}, getImageData: () => ({ data: px }) }) };
  /** @type {any} */ (globalThis).document = { createElement: () => paper };
  const curve = { querySelectorAll: () => [gamma], querySelector: () => ({ id: "tone" }) };
  const m = { st: { photo: "left", swap: false }, canvas, curve, say: (/** @type {string} */ t) => said.push(t) };
  return { tone: new Tone({ m, strips: { paintStrip: () => {} } }), m, said, canvas, gamma };
}

test("a dark photograph is lifted on the screen, and that is told", () => {
  const { tone, said, canvas, gamma } = toned(30);
  tone.look({});
  assert.equal(tone.now().lifted, true);
  assert.match(said[0], /dark/);
  assert.match(canvas.style.filter, /url\(#tone\)/);
  // its middle grey comes to 104: 255 * (30 / 255) ** (1 / gamma)
  assert.ok(Math.abs(255 * (30 / 255) ** Number(gamma.value) - 104) < 1);
});

test("a photograph that is light enough stays as it is", () => {
  const { tone, said, canvas } = toned(90);
  tone.look({});
  assert.deepEqual(tone.now(), { bright: 1, gamma: 1, lifted: false });
  assert.deepEqual([said, canvas.style.filter], [[], ""]);
});

test("a negative is dark on purpose", () => {
  const { tone, m } = toned(30);
  m.st.swap = true;
  tone.look({});
  assert.equal(tone.now().lifted, false);
});

test("what the hand set is that photograph's own, and no lift comes over it", () => {
  const { tone, m, canvas } = toned(30);
  tone.set({ bright: 1.45 });
  tone.look({});
  assert.deepEqual([tone.now().bright, tone.now().lifted], [1.45, false]);
  assert.equal(canvas.style.filter, "brightness(1.45)");
  m.st.photo = "right";
  tone.lay();
  assert.equal(canvas.style.filter, "");
  m.st.photo = "left";
  tone.lay();
  assert.equal(canvas.style.filter, "brightness(1.45)");
});

test("another lamp: what lies in the middle of the mat stays there, as large as it was", () => {
  const size = { left: 0, top: 0, width: 800, height: 600 };
  const host = { clientWidth: 800, clientHeight: 600, getBoundingClientRect: () => size };
  const st = { width: 400, height: 200, zones: [], flip: false },
    board = { st, marks: { lie: () => {} }, on: () => {} };
  const view = new View(board, host, { getContext: () => ({}) }, {});
  view.draw = () => {};
  view.fit();
  view.zoomAt(4, 500, 350);
  const before = view.pixel(400, 300),
    k = view.k;
  // the other photograph is twice as fine and lies 10 pixels further right: its pixels lead to these by half, and back
  board.st = { ...st, width: 800, height: 400 };
  view.follow([0.5, 0, 0, 0.5, 10, 0], st);
  const after = view.pixel(400, 300);
  assert.ok(Math.abs(after[0] - (before[0] - 10) * 2) < 1e-9 && Math.abs(after[1] - before[1] * 2) < 1e-9);
  assert.ok(Math.abs(view.k - k / 2) < 1e-9);
});
