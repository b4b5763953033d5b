// What a window keeps of the kernel's widgets: its own, their values, their bytes, and who asks for another.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { Widgets } = await load("window_widgets.js");

/** @param {string} type @param {any} content @param {string} [session] @param {DataView[]} [buffers] @returns {any} */
const message = (type, content, session = "mine", buffers = []) => ({
  header: { msg_type: type },
  parent_header: { session },
  metadata: {},
  content,
  buffers,
});
/** @param {string} id @param {any} state @param {(string|number)[][]} [paths] @returns {any} */
const opened = (id, state, paths = []) => ({
  comm_id: id,
  target_name: "jupyter.widget",
  data: { state, buffer_paths: paths },
});
const bytes = (/** @type {number} */ n) => new DataView(Uint8Array.of(n).buffer);

/** @returns {{widgets: any, sent: any[]}} */
function begun() {
  /** @type {any[]} */
  const sent = [];
  const kernel = { session: "mine", send: (/** @type {any[]} */ ...all) => sent.push(all) };
  return { widgets: new Widgets(kernel), sent };
}

test("widgets that another window asked for are not kept", () => {
  const { widgets } = begun();
  widgets.take(message("comm_open", opened("a", { n: 1 })));
  widgets.take(message("comm_open", opened("b", { n: 1 }), "theirs"));
  widgets.take(message("comm_open", { ...opened("c", {}), target_name: "another" }));
  assert.deepEqual([...widgets.models.keys()], ["a"]);
  widgets.take(message("comm_msg", { comm_id: "b", data: { method: "update", state: { n: 2 } } }));
  widgets.take(message("comm_close", { comm_id: "a", data: {} }));
  assert.equal(widgets.models.size, 0);
});

test("values and bytes come where they belong, and listeners are told", () => {
  const { widgets } = begun();
  widgets.take(message("comm_open", opened("a", { n: 1, crop: null }, [["crop"]]), "mine", [bytes(7)]));
  const model = widgets.models.get("a");
  assert.equal(model.get("crop").getUint8(0), 7);
  /** @type {any[]} */
  const told = [];
  const listener = (/** @type {any} */ v) => told.push(v);
  model.on("change:n", listener);
  model.on("msg:custom", (/** @type {any} */ m, /** @type {any[]} */ b) => told.push([m, b.length]));
  widgets.take(message("comm_msg", { comm_id: "a", data: { method: "update", state: { n: 2 } } }));
  widgets.take(
    message("comm_msg", { comm_id: "a", data: { method: "custom", content: { say: "x" } } }, "theirs", [bytes(1)]),
  );
  widgets.take(message("comm_msg", { comm_id: "a", data: { method: "echo_update", state: { n: 9 } } }));
  model.off("change:n", listener);
  widgets.take(message("comm_msg", { comm_id: "a", data: { method: "update", state: { n: 3 } } }));
  assert.deepEqual(told, [2, [{ say: "x" }, 1]]);
  assert.equal(model.get("n"), 3);
});

test("what the hand changes goes to the kernel once, and only what changed", () => {
  const { widgets, sent } = begun();
  widgets.take(message("comm_open", opened("a", { n: 1, m: 1 })));
  const model = widgets.models.get("a");
  model.set("n", 1);
  model.save_changes();
  assert.equal(sent.length, 0);
  model.set("n", 2);
  model.save_changes();
  model.save_changes();
  model.send({ do: "step", by: 1 });
  assert.deepEqual(
    sent.map(([type, content]) => [type, content.comm_id, content.data]),
    [
      ["comm_msg", "a", { method: "update", state: { n: 2 }, buffer_paths: [] }],
      ["comm_msg", "a", { method: "custom", content: { do: "step", by: 1 } }],
    ],
  );
});

test("a panel finds another widget by its id", async () => {
  const { widgets } = begun();
  widgets.take(message("comm_open", opened("a", {})));
  widgets.take(message("comm_open", opened("b", { n: 5 })));
  assert.equal((await widgets.models.get("a").widget_manager.get_model("b")).get("n"), 5);
});
