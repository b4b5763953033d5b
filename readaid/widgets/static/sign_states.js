// States of panels, for the type check only: `python -m tests.javascript.message_types` writes them
// from `readaid/widgets/sign_states.py`; a test compares. Nothing here is loaded.

/** @typedef {{
 *   id: string,
 *   text: string,
 *   machine: string,
 *   sound: string,
 *   mark: string,
 *   more: number,
 *   sure: string,
 *   zones: string[],
 *   missing: number[]|null,
 *   crop: string,
 * }} SheetSign */
/** @typedef {{id: string, signs: SheetSign[], morae: [number, number][]}} SheetColumn */
/** @typedef {{parts: [string, boolean][], morae: number|null, want: number|null}} EditionLine */
/** @typedef {{kept: boolean, machine: boolean, lines: EditionLine[], words: string}} Edition */
/** @typedef {{
 *   stage: string,
 *   inscription: string,
 *   inscriptions: [string, string, number][],
 *   kind: string,
 *   chosen: string,
 *   columns: SheetColumn[],
 *   edition: Edition|null,
 *   locked: boolean,
 * }} SheetPanelState */
/** @typedef {{
 *   character: string,
 *   confidence: number,
 *   note: string,
 *   source: string,
 *   probability: number|null,
 *   about: string,
 *   rejected: string,
 *   picture: [string, string]|null,
 *   after: string|null,
 * }} CandidateRow */
/** @typedef {{
 *   photos: [string, string][],
 *   photo: string,
 *   views: [string, string][],
 *   board: string,
 *   view: string,
 *   words: string,
 * }} LookChoices */
/** @typedef {{character: string, under: string, title: string, pictures?: [string, string][]}} LetterRow */
/** @typedef {{
 *   by: "sound"|"parent"|"part"|"alike",
 *   rows: LetterRow[],
 *   words: string,
 *   of?: string,
 *   forms?: [string, string][],
 * }} LettersFound */
/** @typedef {{
 *   character: string,
 *   under: string,
 *   hand: string,
 *   source: string,
 *   probability: number,
 *   title: string,
 *   pictures: [string, string][],
 * }} ShapeRow */
/** @typedef {{
 *   state: "none"|"busy"|"ready"|"absent",
 *   words: string,
 *   rows: ShapeRow[],
 *   sounds: [string, string][],
 *   seen: string,
 *   among: string,
 *   tracing: boolean,
 *   none?: string,
 * }} ShapeRows */
/** @typedef {{id: string, character: string, where: string}} OwnCrop */
/** @typedef {{
 *   words: [string, number][],
 *   values: [string, number][],
 *   sure: number,
 *   total: number,
 *   character: string,
 *   damages: [string, string][],
 *   n: number,
 *   inside: [string, string][],
 *   candidates: CandidateRow[],
 *   damage: string,
 *   missing: number[],
 *   note: string,
 *   margin: number,
 *   own: OwnCrop[],
 *   found: LettersFound|null,
 *   shape: ShapeRows,
 *   traced: boolean,
 *   look: LookChoices|null,
 * }} CharacterPanelState */
/** @typedef {{
 *   ready: boolean,
 *   zone: string,
 *   turn: number,
 *   width: number,
 *   height: number,
 *   strokes: [number, number][][],
 *   kept: number,
 *   locked: boolean,
 *   look: LookChoices|null,
 *   words: string,
 * }} TracingPanelState */

export {};
