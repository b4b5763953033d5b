// What rows of the panels come to in words and numbers: signs of the sheet, counts of forms, folds that were kept.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { Columns } = await load("sheet_columns.js");
const { Sheet } = await load("sheet_panel.js");
const { bare } = await load("compare_facts.js");
const { Fold } = await load("panel_fold.js");
const { Light } = await load("mat_light.js");
const { KeepForm } = await load("reading_keep.js");

const SIGN = {
  id: "a",
  text: "か",
  machine: "",
  sound: "か",
  mark: "read",
  more: 0,
  sure: "sure",
  missing: null,
  crop: "",
};

test("a count loses its mark before it is corrected by hand", () => {
  assert.deepEqual(["7*", "3?", "12", "–"].map(bare), ["7", "3", "12", ""]);
});

test("a sign is told with its number, how sure, and what else it may be", () => {
  const columns = new Columns({ st: { columns: [] } });
  assert.deepEqual(columns.words(SIGN, 3), ["3", "Sign 3, read か, sure", ""]);
  const old = { ...SIGN, text: "𛁐", sound: "す" };
  assert.equal(columns.words(old, 3)[1], "Sign 3, read 𛁐 す, sure", "no voice knows the letter itself");
  const two = { ...SIGN, text: "", mark: "unread", more: 2, sure: "", machine: "の" };
  assert.deepEqual(columns.words(two, 4), [
    "4; 2 other candidates",
    "Sign 4, not read, the machine proposes の",
    "2 other candidates",
  ]);
  assert.equal(columns.words({ ...two, machine: "", mark: "lost", more: 1 }, 5)[1], "Sign 5, lost");
});

test("what a column shows that is not its own changes only where that shows", () => {
  const st = { columns: [], chosen: "b", stage: "marks", locked: false },
    columns = new Columns({ st, crops: new Map([["c1", "blob:"]]) });
  const column = { id: "a", signs: [{ ...SIGN, crop: "c1" }], morae: [] };
  const was = columns.told(column, 1);
  st.chosen = "x";
  assert.equal(columns.told(column, 1), was, "another sign elsewhere is chosen");
  st.chosen = "a";
  assert.notEqual(columns.told(column, 1), was);
  st.locked = true;
  assert.notEqual(columns.told(column, 1), was);
});

test("arrows on the sheet go down the column and to the next one at the left", () => {
  const columns = [["a", "b", "c"], ["d"]].map((ids) => ({ id: ids[0], signs: ids.map((id) => ({ id })) }));
  const sheet = Object.create(Sheet.prototype);
  const chosen = /** @type {string[]} */ ([]);
  Object.assign(sheet, { st: { columns }, paper: { querySelector: () => null } });
  sheet.choose = (/** @type {string} */ id) => chosen.push(id);
  /** @type {any} */ (globalThis).CSS = { escape: (/** @type {string} */ x) => x };
  const go = (/** @type {string} */ from, /** @type {string} */ key) => {
    /** @type {any} */ (globalThis).document = { activeElement: { dataset: { id: from } } };
    const before = chosen.length;
    sheet.walk({ key, preventDefault: () => {} });
    return chosen[before] ?? null;
  };
  assert.equal(go("a", "ArrowDown"), "b");
  assert.equal(go("c", "ArrowDown"), "d", "from the foot to the head of the next column");
  assert.equal(go("c", "ArrowLeft"), "d", "a shorter column is entered at its foot");
  assert.equal(go("d", "ArrowLeft"), null);
  assert.equal(go("d", "ArrowRight"), "a");
  assert.equal(go("b", "End"), "d");
  assert.equal(go("nobody", "End"), null);
});

test("a store of the browser that is missing or broken folds nothing wrongly", () => {
  const made = () => {
    const body = { hidden: false },
      title = { textContent: "t", replaceChildren: () => {}, after: () => {} },
      root = {
        querySelector: () => title,
        classList: { toggle: () => {} },
        addEventListener: () => {},
        closest: () => null,
      };
    return [new Fold({ root, body }, "x", "school"), body];
  };
  const none = () => {};
  const element = () => ({
    ...{ setAttribute: none, removeAttribute: none, addEventListener: none, append: none, replaceChildren: none },
    tagName: "X",
    id: "",
  });
  const page = /** @type {any} */ (globalThis);
  page.document = { createElement: element };
  const kept = /** @type {Record<string, string>} */ ({ "readaid-open": "not json" });
  const store = { getItem: (/** @type {string} */ k) => kept[k] ?? null, setItem: () => assert.fail("full") };
  Object.defineProperty(page, "localStorage", { value: store, configurable: true });
  const [fold, body] = made();
  assert.equal(body.hidden, true);
  fold.turn();
  assert.equal(body.hidden, false, "it opens, though that is not kept");
  kept["readaid-open"] = "null";
  assert.equal(made()[1].hidden, true);
  kept["readaid-open"] = JSON.stringify({ school: "x" });
  assert.equal(made()[1].hidden, false);
});

test("a lamp in words: what the picture is, where its lamp stood, or that nobody noted it", () => {
  const light = Object.create(Light.prototype);
  assert.equal(light.word({ kind: "ultraviolet", side: "top" }), "ultraviolet");
  assert.equal(light.word({ kind: "", side: "top left", height: "low" }), "lamp at the top left, low");
  assert.equal(light.word({}), "lamp not noted");
});

test("a digit lights the lamp of that number, and none that is not there", () => {
  const light = Object.create(Light.prototype);
  const put = /** @type {string[]} */ ([]);
  const companions = [{ id: "p" }, { id: "q" }];
  Object.assign(light, {
    m: { st: { companions, photos: companions } },
    put: (/** @type {string} */ id) => put.push(id),
  });
  assert.equal(light.key({ code: "Digit2", key: "2" }), true);
  assert.equal(light.key({ code: "Digit7", key: "7" }), false);
  assert.deepEqual(put, ["q"]);
});

test("a photograph that is made ready is lit from then on; the whole of the shown one is no lamp", () => {
  const light = Object.create(Light.prototype);
  const companions = [{ id: "p", flip: true, swap: false }];
  Object.assign(light, { planes: new Map(), m: { st: { companions }, view: { how: "one" } } });
  light.ready({ type: "overview", layer: 3, photo: "p", width: 40, height: 20, max_z: 2 });
  light.ready({ type: "overview", layer: 4 });
  assert.deepEqual([...light.planes], [["p", { layer: 3, width: 40, height: 20, max_z: 2, flip: true, swap: false }]]);
});

test("a reading is kept as it stood, and what was begun stays where it was refused", async () => {
  const asked = /** @type {unknown[][]} */ ([]);
  const p = {
    st: { turn: 5 },
    keeping: 1,
    fault: { textContent: "" },
    drawer: { own: { input: { value: "わが" } } },
    paint: () => {},
    ask: async (/** @type {unknown[]} */ ...args) => void asked.push(args),
  };
  const form = new KeepForm(p);
  form.draft.evidence = "seen under low light";
  form.write(1, true);
  await null;
  assert.deepEqual(asked[0], [
    "keep",
    { confidence: 0.5, evidence: "seen under low light", status: "open", index: 1, turn: 5, seen: true },
  ]);
  assert.deepEqual([p.keeping, form.draft.evidence], [-1, ""]);
  p.fault.textContent = "The readings changed meanwhile";
  p.keeping = -2;
  form.draft.evidence = "again";
  form.write(-2, false);
  await null;
  assert.deepEqual(asked[1][0], "keep_own");
  assert.deepEqual([p.keeping, form.draft.evidence], [-2, "again"]);
});
