// Files on their way to Python: in pieces, the last one said to be the last, and none any more once it was stopped.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { sendFiles } = await load("file_pieces.js");
const { Upload } = await load("upload.js");
const MB = 1 << 20;
/** @param {string} name @param {number} size @returns {File} */
const file = (name, size) => /** @type {any} */ (Object.assign(new Blob([new Uint8Array(size)]), { name }));

test("two files go in pieces with their place, their share and the end told", async () => {
  /** @type {any[]} */
  const asked = [];
  await sendFiles(
    async (/** @type {any} */ args, /** @type {ArrayBuffer[]} */ buffers) => {
      asked.push([args.name, args.at, args.of, args.last, args.share, buffers[0].byteLength]);
    },
    [file("a.jpg", 2 * MB + 10), file("b.jpg", 0)],
  );
  const all = 2 * MB + 10;
  assert.deepEqual(asked, [
    ["a.jpg", 0, 3, false, MB / all, MB],
    ["a.jpg", 1, 3, false, (2 * MB) / all, MB],
    ["a.jpg", 2, 3, false, 1, 10],
    ["b.jpg", 0, 1, true, 1, 0],
  ]);
});

test("no piece leaves once it was stopped", async () => {
  let count = 0;
  await sendFiles(
    async () => {
      count += 1;
    },
    [file("a.jpg", 5 * MB), file("b.jpg", MB)],
    () => count < 2,
  );
  assert.equal(count, 2);
});

test("a way in is stopped between two pieces, and opens anew for the next files", async () => {
  let count = 0;
  const upload = Object.create(Upload.prototype);
  Object.assign(upload, {
    input: { value: "a.jpg" },
    under: new Set(),
    ask: async () => {
      count += 1;
      if (count === 2) upload.stop();
    },
  });
  await upload.send([file("a.jpg", 5 * MB)]);
  assert.deepEqual([count, upload.input.value], [2, ""]);
  await upload.send([file("b.jpg", 2 * MB)]);
  assert.equal(count, 4);
});

test("files that follow do not wake those that were stopped", async () => {
  /** @type {string[]} */
  const sent = [];
  let second = /** @type {Promise<void>|null} */ (null);
  const upload = Object.create(Upload.prototype);
  Object.assign(upload, {
    input: { value: "" },
    under: new Set(),
    ask: async (/** @type {any} */ { name }) => {
      sent.push(name);
      if (second) return;
      upload.stop();
      second = upload.send([file("b.jpg", 10)]);
    },
  });
  await upload.send([file("a.jpg", 5 * MB)]);
  await second;
  assert.deepEqual(sent, ["a.jpg", "b.jpg"]);
});
