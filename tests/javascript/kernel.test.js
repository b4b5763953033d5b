// The way to the kernel, with a socket that the test plays: what waits, what comes in which order, what is sent again.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

/** @type {any[]} */
const sockets = [];
class Played {
  static OPEN = 1;
  readyState = 0;
  /** @type {any[]} */
  sent = [];
  /** @param {string} address */
  constructor(address) {
    this.address = address;
    sockets.push(this);
  }
  /** @param {string} frame */
  send(frame) {
    this.sent.push(JSON.parse(frame));
  }
  open() {
    this.readyState = 1;
    /** @type {any} */ (this).onopen();
  }
  close() {
    this.readyState = 3;
    /** @type {any} */ (this).onclose();
  }
  /** @param {string} channel @param {string} type @param {any} parent @param {any} content */
  hear(channel, type, parent, content) {
    const message = { channel, header: { msg_type: type }, parent_header: parent.header, metadata: {}, content };
    /** @type {any} */ (this).onmessage({ data: JSON.stringify(message) });
  }
}
/** @type {any} */ (globalThis).WebSocket = Played;
const { Kernel } = await load("window_kernel.js");
const IDLE = { execution_state: "idle" };

/** @returns {{kernel: any, socket: any, near: boolean[], heard: any[]}} */
function begun() {
  /** @type {boolean[]} */
  const near = [];
  /** @type {any[]} */
  const heard = [];
  const kernel = new Kernel(
    "ws://x/channels",
    (/** @type {any} */ m) => heard.push(m),
    (/** @type {boolean} */ is) => near.push(is),
  );
  return { kernel, socket: sockets.at(-1), near, heard };
}

test("what is sent before the socket stands waits for it, in order", () => {
  const { kernel, socket } = begun();
  kernel.send("comm_msg", { n: 1 });
  kernel.send("comm_msg", { n: 2 });
  assert.equal(socket.sent.length, 0);
  socket.open();
  kernel.send("comm_msg", { n: 3 });
  assert.deepEqual(
    socket.sent.map((/** @type {any} */ m) => m.content.n),
    [1, 2, 3],
  );
});

for (const first of ["the reply", "what it shows"])
  test(`an asking is over when reply and output have both ended, ${first} first`, async () => {
    const { kernel, socket } = begun();
    socket.open();
    /** @type {string[]} */
    const shown = [];
    let over = false;
    const asked = kernel.run("page", (/** @type {any} */ m) => shown.push(m.header.msg_type));
    asked.then(() => (over = true));
    const [request] = socket.sent;
    const output = () => {
      socket.hear("iopub", "execute_result", request, { data: {} });
      socket.hear("iopub", "status", request, IDLE);
    };
    const reply = () => socket.hear("shell", "execute_reply", request, { status: "ok" });
    (first === "the reply" ? reply : output)();
    await Promise.resolve();
    assert.equal(over, false);
    (first === "the reply" ? output : reply)();
    assert.equal((await asked).status, "ok");
    assert.deepEqual(shown, ["execute_result", "status"]);
    assert.equal(kernel.asked.size, 0);
  });

test("what is asked besides code is answered with its reply", async () => {
  const { kernel, socket } = begun();
  socket.open();
  const asked = kernel.ask("comm_info_request", { target_name: "jupyter.widget" });
  const [request] = socket.sent;
  assert.equal(request.header.msg_type, "comm_info_request");
  socket.hear("shell", "comm_info_reply", request, { comms: { a: {} } });
  socket.hear("iopub", "status", request, IDLE);
  assert.deepEqual((await asked).comms, { a: {} });
});

test("a kernel that starts again is asked until it answers on both ways, and no longer", async (context) => {
  context.mock.timers.enable({ apis: ["setInterval"] });
  const { kernel, socket } = begun();
  socket.open();
  let over = false;
  const awake = kernel.awake().then(() => (over = true));
  context.mock.timers.tick(2000);
  assert.equal(socket.sent.length, 3, "what was asked while nobody was there is lost: asked again");
  const last = socket.sent[2];
  assert.equal(last.header.msg_type, "kernel_info_request");
  socket.hear("shell", "kernel_info_reply", last, { status: "ok" });
  for (let n = 0; n < 5; n++) await Promise.resolve();
  assert.equal(over, false, "its output may not be heard yet");
  socket.hear("iopub", "status", last, IDLE);
  await awake;
  context.mock.timers.tick(5000);
  assert.equal(socket.sent.length, 3);
});

test("a socket that falls is opened again as the same session; only one that stays away is told", (context) => {
  context.mock.timers.enable({ apis: ["setTimeout"] });
  const { kernel, socket, near } = begun();
  socket.open();
  for (let n = 0; n < 3; n++) {
    sockets.at(-1).close();
    context.mock.timers.tick(5000);
  }
  assert.deepEqual(near, [true, false]);
  kernel.send("comm_msg", { n: 4 });
  sockets.at(-1).open();
  assert.deepEqual(near, [true, false, true]);
  assert.equal(sockets.at(-1).sent[0].content.n, 4);
  assert.equal(sockets.at(-1).address, socket.address);
});

test("what another asking shows is heard and not taken for this one's", async () => {
  const { kernel, socket, heard } = begun();
  socket.open();
  let over = false;
  kernel.run("page").then(() => (over = true));
  socket.hear("iopub", "status", { header: { msg_id: "other" } }, IDLE);
  socket.hear("shell", "execute_reply", { header: { msg_id: "other" } }, { status: "ok" });
  await Promise.resolve();
  assert.equal(over, false);
  assert.equal(heard.length, 1);
});
