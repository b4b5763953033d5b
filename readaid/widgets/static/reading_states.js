// States of panels, for the type check only: `python -m tests.javascript.message_types` writes them
// from `readaid/widgets/reading_states.py`; a test compares. Nothing here is loaded.

/** @typedef {{text: string, restored: boolean, shape?: boolean}} LinePart */
/** @typedef {{
 *   parts: LinePart[],
 *   morae: number,
 *   want: number|null,
 *   unit: string,
 *   surplus: number|null,
 *   rules: string[],
 * }} LineRow */
/** @typedef {{text: string, shape: boolean}} WrittenPart */
/** @typedef {{
 *   lines: LineRow[],
 *   text: string,
 *   romaji: string,
 *   short: string,
 *   others: number,
 *   written: WrittenPart[],
 *   general: string[],
 *   layers: [string, string, string][],
 *   restored: string,
 *   shape: string,
 *   share: string,
 *   percent: string,
 *   machine: boolean,
 *   differs: string,
 * }} ReadingRow */
/** @typedef {{character: string, kana: string, restored: boolean, mine: string|null, words: string}} SignShare */
/** @typedef {{
 *   id: string,
 *   n: number,
 *   best: string,
 *   blank: string,
 *   kind: string,
 *   shape: boolean,
 *   fixed: string,
 *   ends: boolean,
 *   name: string,
 *   options: string[],
 *   read: string|null,
 *   share: number|null,
 *   shares: SignShare[],
 * }} SignRow */
/** @typedef {{lines: LineRow[], words: string, busy?: boolean}} OwnLines */
/** @typedef {{words: string, rows: [string, string, string, string, string][], busy?: boolean}} KnownVerses */
/** @typedef {{signs: string, rows: [string, string, string, string][], words: string[], known: string}} ChineseLine */
/** @typedef {{parts: [string, string][], words: string}} SignatureLine */
/** @typedef {{on: boolean, words: string, among: string, kinds: [string, string][]}} ByShape */
/** @typedef {{
 *   rows: [string, string, string][],
 *   signs: [string, string, string][],
 *   other: number,
 *   first: string,
 *   second: string,
 *   next: string,
 * }} ReadingsBeside */
/** @typedef {{text: string, sure: string, status: string, reader: string, when: string}} AttemptRow */
/** @typedef {{
 *   stage: string,
 *   turn: number,
 *   busy: boolean,
 *   words: string,
 *   forms: [string, string][],
 *   form: string,
 *   inscription: string,
 *   inscriptions: [string, string][],
 *   chosen: string,
 *   one: SignRow|null,
 *   signs: number,
 *   own: OwnLines,
 *   known: KnownVerses,
 *   values: [string, number][],
 *   statuses: [string, string][],
 *   chinese: ChineseLine|null,
 *   readings: ReadingRow[],
 *   parse: SignatureLine|null,
 *   dots: string,
 *   shape: ByShape,
 *   beside: ReadingsBeside|null,
 *   spread: string[],
 *   attempts: AttemptRow[],
 * }} ReadingPanelState */

export {};
