// States of panels, for the type check only: `python -m tests.javascript.message_types` writes them
// from `readaid/widgets/school_states.py`; a test compares. Nothing here is loaded.

/** @typedef {import("./board_states.js").Busy} Busy */
/** @typedef {{text: string, kind: string, readings: string, meaning: string}} ParsedPart */
/** @typedef {{kept: boolean, words: string, checks: string[], parts: ParsedPart[]}} ParseRow */
/** @typedef {{
 *   era: string,
 *   cycle: string,
 *   agrees: string,
 *   disagrees: boolean,
 *   range: string,
 *   notes: string,
 *   folded: boolean,
 * }} DatingRow */
/** @typedef {{text: string, range: string}} KeptDate */
/** @typedef {{
 *   id: string,
 *   name: string,
 *   readings: string,
 *   aliases: string,
 *   school: string,
 *   teacher: string,
 *   kin: string,
 *   parts: string[],
 *   dates: string,
 *   generation: string,
 *   born: string,
 *   died: string,
 *   active_from: string,
 *   active_to: string,
 * }} PersonRow */
/** @typedef {{
 *   inscriptions: [string, string][],
 *   inscription: string,
 *   text: string,
 *   date_text: string,
 *   roles: [string, string][],
 *   signature_words: string,
 *   date_words: string,
 *   period: string,
 *   parses: ParseRow[],
 *   datings: DatingRow[],
 *   kept_dates: KeptDate[],
 *   people: PersonRow[],
 *   seal: [string, string, string][],
 * }} SignaturePanelState */
/** @typedef {{id: string, title: string, words: string}} SpecimenRow */
/** @typedef {{side: string, words: string, on: boolean}} TracedSide */
/** @typedef {{
 *   likeness: string,
 *   disagree: string,
 *   parts: [string, number][],
 *   transform: number[],
 *   notes: string[],
 *   differences: number[][],
 *   counts: [string, string, string][],
 *   heads: string[],
 *   laid: string,
 *   population: string,
 *   alt: string,
 * }} ComparedForms */
/** @typedef {{
 *   specimens: SpecimenRow[],
 *   a: string,
 *   b: string,
 *   turn: string,
 *   traced: TracedSide[],
 *   people: [string, string][],
 *   kinds: [string, string][],
 *   counts: [string, string][],
 *   zones: [string, string][],
 *   busy: boolean,
 *   words: string,
 *   result: ComparedForms|null,
 * }} ComparePanelState */
/** @typedef {{id: string, name: string, teacher: string, column: number, row: number, words: string}} MakerRow */
/** @typedef {{
 *   names: string[],
 *   rows: number[][],
 *   low: number,
 *   of: string,
 *   nearest: [string, string, string, string, string, string][],
 *   sentence: string,
 * }} LikenessMatrix */
/** @typedef {{svg: string, title: string}} Figure */
/** @typedef {{
 *   ready: boolean,
 *   busy: Busy|null,
 *   forms: number,
 *   makers: MakerRow[],
 *   tree_words: string,
 *   tree_alt: string,
 *   words: string,
 *   matrix: LikenessMatrix|null,
 *   tests: string[],
 *   charts: Figure[],
 * }} SchoolPanelState */
/** @typedef {{id: string, maker: string, year: string, thumb: string, traced: boolean}} AlbumForm */
/** @typedef {{
 *   tracing: string,
 *   ready: boolean,
 *   title: string,
 *   folder: string,
 *   busy: Busy|null,
 *   forms: AlbumForm[],
 *   makers: [string, number][],
 *   words: string,
 *   figures: [string, string][],
 *   shown: string,
 *   figure: Figure|null,
 *   sentence: string,
 *   sentences: string[],
 * }} AlbumPanelState */

export {};
