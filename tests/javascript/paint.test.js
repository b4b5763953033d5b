// Which tiles a part of the screen needs, and tiles that come, are lost or are too many.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { Painter } = await load("mat_paint.js");
const { Tiles } = await load("mat_tiles.js");

const PLANE = { layer: 1, width: 4096, height: 2048, max_z: 3, flip: false, swap: false };

/** A view that holds some tiles. @param {[string, object][]} [tiles] */
function view(tiles = []) {
  const handlers = /** @type {Record<string, Function>} */ ({});
  const m = {
    st: { tile: 512, trouble: "" },
    on: (/** @type {string} */ type, /** @type {Function} */ f) => (handlers[type] = f),
    light: { tone: { look: () => {} }, ready: () => {} },
  };
  const one = {
    m,
    layer: 1,
    former: -1,
    tiles: new Map(tiles),
    asked: new Map(),
    overviews: new Map(),
    stats: { tiles: 0, bytes: 0, waits: [] },
    drawn: 0,
    draw: () => void one.drawn++,
  };
  return { one, handlers };
}
/** What is asked for a part of the screen, and what is drawn. */
function painted(/** @type {any} */ one, /** @type {number[]} */ matrix, part = [0, 0, 800, 600]) {
  const drawn = /** @type {unknown[]} */ ([]),
    need = new Map();
  const ctx = { drawImage: (/** @type {unknown[]} */ ...args) => drawn.push(args.slice(1)) };
  new Painter(one).paintTiles(ctx, PLANE, matrix, part, Math.hypot(matrix[0], matrix[1]), need);
  return { need: need.get(1) ?? [], drawn };
}

test("only tiles in sight are asked for, each once, at the level that fits the zoom", () => {
  const { one } = view();
  assert.deepEqual(painted(one, [1, 0, 0, 1, 0, 0]).need, [
    [0, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
    [0, 1, 1],
  ]);
  assert.deepEqual(painted(one, [1, 0, 0, 1, 0, 0]).need, [], "they are on their way");
  assert.deepEqual(painted(view().one, [0.25, 0, 0, 0.25, 0, 0]).need, [
    [2, 0, 0],
    [2, 1, 0],
  ]);
});

test("a photograph turned by a quarter asks for the tiles that are seen then", () => {
  // (x, y) -> (2048 - y, x): the screen's left upper corner is the photograph's left lower one
  assert.deepEqual(painted(view().one, [0, 1, -1, 0, 2048, 0], [0, 0, 500, 500]).need, [[0, 0, 3]]);
});

test("nothing is asked for beside the photograph, nor where it cannot be read", () => {
  assert.deepEqual(painted(view().one, [1, 0, 0, 1, 5000, 0]).need, []);
  const { one } = view();
  one.m.st.trouble = "The file has gone";
  assert.deepEqual(painted(one, [1, 0, 0, 1, 0, 0]).need, []);
});

test("a tile of the former look stands in while the new one is asked for", () => {
  const { one } = view([["0:0,0,0", { width: 512, height: 512 }]]);
  one.former = 0;
  const { need, drawn } = painted(one, [1, 0, 0, 1, 0, 0], [0, 0, 500, 500]);
  assert.deepEqual([need, drawn], [[[0, 0, 0]], [[0, 0, 512, 512]]]);
});

test("tiles that were sent and are not here are asked for again", () => {
  const { one, handlers } = view();
  new Tiles(one).listen();
  one.asked.set("1:0,0,0", 1);
  handlers.tiles_failed({ layer: 1, keys: [[0, 0, 0]] });
  assert.deepEqual([one.asked.size, one.drawn], [0, 1]);
});

test("another look keeps the former one only where nothing is on its way, another photograph never", () => {
  const { one } = view();
  const store = new Tiles(one);
  one.overviews.set(1, "whole");
  store.relayer(2, false);
  assert.deepEqual([one.layer, one.former, one.overviews.get(2)], [2, 1, "whole"]);
  store.relayer(3, true);
  assert.deepEqual([one.layer, one.former, one.overviews.get(3)], [3, -1, undefined]);
});

test("tiles are held up to a number, the one not used for longest goes first", async () => {
  const closed = /** @type {string[]} */ ([]);
  const { one, handlers } = view(
    Array.from({ length: 220 }, (_, i) => [`1:0,${i},0`, { close: () => closed.push(`1:0,${i},0`) }]),
  );
  new Tiles(one).listen();
  /** @type {any} */ (globalThis).createImageBitmap = async () => ({ close: () => {} });
  await handlers.tile({ layer: 1, k: [0, 500, 0] }, [new DataView(new ArrayBuffer(4))]);
  assert.deepEqual([closed, one.tiles.size, one.tiles.has("1:0,500,0")], [["1:0,0,0"], 220, true]);
});
