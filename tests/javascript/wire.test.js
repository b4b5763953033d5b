// Messages with bytes in one frame, held against frames that Jupyter Server itself packed (jupyter_server 2.21,
// serialize_binary_message; written down as hexadecimal digits).
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { packed, unpacked } = await load("window_wire.js");
/** One message with three buffers, the second of them empty. */
const PACKED =
  "0000000400000014000000f4000000f7000000f77b22686561646572223a207b226d73675f6964223a202231222c20226d73675f74797065223a2022" +
  "636f6d6d5f6d7367222c202273657373696f6e223a202273222c2022757365726e616d65223a2022222c202264617465223a2022323032362d30312d" +
  "30315430303a30303a30305a222c202276657273696f6e223a2022352e33227d2c2022706172656e745f686561646572223a207b7d2c20226d657461" +
  "64617461223a207b7d2c2022636f6e74656e74223a207b22636f6d6d5f6964223a20225c7535336535227d2c20226368616e6e656c223a2022696f70" +
  "7562227d010203ff";
const frame = () => Uint8Array.from(Buffer.from(PACKED, "hex")).buffer;

test("a frame of the server's is taken apart", () => {
  const message = unpacked(frame());
  assert.equal(message.content.comm_id, "句");
  const bytes = message.buffers.map((/** @type {DataView} */ b) => [
    ...new Uint8Array(b.buffer, b.byteOffset, b.byteLength),
  ]);
  assert.deepEqual(bytes, [[1, 2, 3], [], [255]]);
});

test("what is packed here is taken apart as it was", () => {
  const { buffers, ...message } = unpacked(frame());
  const again = unpacked(packed(message, [Uint8Array.of(7, 8).buffer, new ArrayBuffer(0)]));
  assert.deepEqual(again.content, message.content);
  assert.deepEqual(
    again.buffers.map((/** @type {DataView} */ b) => b.byteLength),
    [2, 0],
  );
  assert.equal(again.buffers[0].getUint8(1), 8);
  assert.equal(buffers.length, 3);
});

test("a message without bytes is plain text", () => {
  assert.equal(JSON.parse(packed({ content: { code: "" } })).content.code, "");
  assert.equal(unpacked('{"content": {"code": "1"}}').content.code, "1");
});
