// The state that Python keeps, made whole from what it tells; words for numbers; the program's words in two languages.
import assert from "node:assert/strict";
import { test } from "node:test";
import { load } from "./load.js";

const { patched } = await load("panel_frame.js");
const { wordFor } = await load("kit.js");
const { sameEnds } = await load("standing_rows.js");
const { surplus } = await load("reading_words.js");
const { language, speak, t } = await load("texts.js");

test("entries are put and taken away, the others stay the same objects", () => {
  const zones = [{ id: "a" }],
    known = { zones, stage: "marks", busy: 1 };
  const now = patched(known, { put: { stage: "reading" }, gone: ["busy"], rows: {} });
  assert.deepEqual(now, { zones, stage: "reading" });
  assert.equal(now.zones, zones);
  assert.equal(known.stage, "marks"); // what was known is not written over
});

test("of a list of rows only the new ones come; those that stay are the same objects", () => {
  const [a, b, c] = ["a", "b", "c"].map((id, n) => ({ id, label: String(n + 1), x: 0 }));
  const told = {
    put: {},
    gone: [],
    rows: { zones: { changed: [{ id: "d", label: "2", x: 5 }], order: { at: 1, gone: 1, ids: ["d"] }, counted: {} } },
  };
  const { zones } = patched({ zones: [a, b, c] }, told);
  assert.deepEqual(zones, [a, { id: "d", label: "2", x: 5 }, c]);
  assert.equal(zones[0], a);
  const counted = patched(
    { zones: [a, c] },
    { put: {}, gone: [], rows: { zones: { changed: [], order: null, counted: { label: { at: 1, values: ["2"] } } } } },
  );
  assert.equal(counted.zones[1].label, "2");
  const back = patched(
    { zones: [a, b, c] },
    {
      put: {},
      gone: [],
      rows: { zones: { changed: [], order: { at: 0, gone: 3, ids: ["c", "b", "a"] }, counted: {} } },
    },
  );
  assert.deepEqual(back.zones, [c, b, a]); // what goes at a place may come there again
  assert.equal(c.label, "3");
});

test("a row that was never told is missed aloud", () => {
  const order = { at: 0, gone: 0, ids: ["x"] };
  const told = { put: {}, gone: [], rows: { zones: { changed: [], order, counted: {} } } };
  assert.throws(() => patched({ zones: [] }, told), /zones.x/);
});

test("the whole takes the place of all", () => assert.deepEqual(patched({ a: 1 }, { whole: { b: 2 } }), { b: 2 }));

test("a confidence is the first word whose bound it does not pass", () => {
  const words = [
    ["guess", 0.3],
    ["probable", 0.7],
    ["certain", 1],
  ];
  assert.deepEqual(
    [0, 0.3, 0.31, 0.7, 1].map((c) => wordFor(c, words)),
    ["guess", "guess", "probable", "probable", "certain"],
  );
});

test("how far a line is from its count", () => {
  assert.deepEqual([null, 0, 2, -1].map(surplus), ["", "fits", "2 too many", "1 too few"]);
});

test("a text is looked up with its places, and said in English where the table lacks it", () => {
  const page = /** @type {any} */ (globalThis);
  page.readaidTexts = { ja: { "Zone {0} of {1}": "{1}のうち第{0}区画" } };
  assert.equal(t`Zone ${2} of ${17}`, "Zone 2 of 17");
  speak("ja");
  assert.equal(language(), "ja");
  assert.equal(t`Zone ${2} of ${17}`, "17のうち第2区画");
  assert.equal(t`Close|a window`, "Close");
  speak("en");
});

test("of two lists the equal ends are found, and no entry is counted twice", () => {
  assert.deepEqual(sameEnds(["a", "b", "c"], ["a", "x", "b", "c"]), [1, 2]);
  assert.deepEqual(sameEnds(["a", "a"], ["a", "a", "a"]), [2, 0]);
  assert.deepEqual(sameEnds(["a", "b"], ["a", "b"]), [2, 0]);
  assert.deepEqual(sameEnds(["a", "b", "c"], ["c", "b", "a"]), [0, 0]);
  assert.deepEqual(sameEnds([], ["a"]), [0, 0]);
});
