// States of panels, for the type check only: `python -m tests.javascript.message_types` writes them
// from `readaid/widgets/states.py`; a test compares. Nothing here is loaded.

/** @typedef {{label: string, share: number|null, stoppable: boolean}} Busy */
/** @typedef {{
 *   id: string,
 *   x: number,
 *   y: number,
 *   w: number,
 *   h: number,
 *   outline: [number, number][]|null,
 *   text: string,
 *   home: string,
 *   mark: string,
 *   body: string,
 *   joined: boolean,
 *   sure: string,
 *   faint: boolean,
 *   label: string,
 * }} ZoneRow */
/** @typedef {{
 *   id: string,
 *   title: string,
 *   surface: string,
 *   azimuth: number|null,
 *   elevation: number|null,
 *   hint: string,
 *   kind: string,
 *   side: string,
 *   height: string,
 * }} PhotoRow */
/** @typedef {{id: string, title: string, frame: number[], laid: boolean, flip: boolean, swap: boolean}} Companion */
/** @typedef {{
 *   a: [number, number],
 *   b: [number, number],
 *   millimetres: number,
 *   mm_per_pixel: number,
 *   check_a: [number, number]|null,
 *   check_b: [number, number]|null,
 *   check_millimetres: number|null,
 *   words: string,
 *   warning: string,
 * }} ScaleRow */
/** @typedef {{
 *   name: string,
 *   label: string,
 *   min: number,
 *   max: number,
 *   step: number,
 *   value: number,
 *   words: string,
 * }} SliderRow */
/** @typedef {{name: string, label: string, help: string, sliders: SliderRow[]}} ViewRow */
/** @typedef {{id: string, title: string}} Titled */
/** @typedef {{
 *   evidence: string,
 *   kinds: [string, string][],
 *   computed: boolean,
 *   surface: string,
 *   surfaces: string[],
 *   light: string,
 *   mirrored: boolean,
 *   swapped: boolean,
 *   sides: string[],
 *   heights: [string, string][],
 *   side: string,
 *   height: string,
 * }} About */
/** @typedef {{outline: [number, number][], words: string}} MarkedRegion */
/** @typedef {{id: string, text: string, private: boolean, x: number, y: number}} PinnedNote */
/** @typedef {{x: number, y: number, w: number, h: number}} Box */
/** @typedef {{n: number, zone: string, words: string, boxes: Box[]}} Correction */
/** @typedef {{
 *   text: string,
 *   choices: [string, string][],
 *   base: string,
 *   photo: string,
 *   region: number[]|null,
 * }} Question */
/** @typedef {{words: string, uses: [string, string][], outline: [number, number][]}} RulerOffer */
/** @typedef {{
 *   stage: string,
 *   photo: string,
 *   width: number,
 *   height: number,
 *   max_z: number,
 *   mat: string,
 *   tile: number,
 *   zones: ZoneRow[],
 *   regions: MarkedRegion[],
 *   photos: PhotoRow[],
 *   companions: Companion[],
 *   notes: PinnedNote[],
 *   inscriptions: Titled[],
 *   inscription: string,
 *   kinds: Titled[],
 *   kind: string,
 *   kind_words: string,
 *   selected: string,
 *   busy: Busy|null,
 *   scale: ScaleRow|null,
 *   views: ViewRow[],
 *   view: string,
 *   usual: number[]|null,
 *   trouble: string,
 *   layer: number,
 *   parted: [string, string][],
 *   flip?: boolean,
 *   swap?: boolean,
 *   advice?: string[],
 *   advice_others?: string[],
 *   about?: About,
 *   computed?: string,
 *   over?: string,
 *   over_choices?: Titled[],
 *   lit?: number,
 *   shapes?: boolean,
 *   across?: number,
 *   corrections?: Correction[],
 *   question?: Question|null,
 *   to_look?: string[],
 *   ruler?: RulerOffer|null,
 *   ruler_sought?: boolean,
 *   elsewhere?: Titled|null,
 * }} PhotoBoardState */
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
 *   picture: string[]|null,
 *   after: number|string|null,
 * }} CandidateRow */
/** @typedef {{
 *   photos: [string, string][],
 *   photo: string,
 *   views: [string, string][],
 *   board: string,
 *   view: string,
 *   words: string,
 * }} LookChoices */
/** @typedef {{
 *   state: string,
 *   words: string,
 *   rows: Record<string, any>[],
 *   sounds: any[],
 *   seen: string,
 *   among: string,
 *   tracing: boolean,
 *   none?: string,
 * }} ShapeRows */
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
 *   own: Record<string, any>[],
 *   found: Record<string, any>|null,
 *   shape: ShapeRows,
 *   traced: boolean,
 *   look: LookChoices|null,
 * }} CharacterPanelState */
/** @typedef {{
 *   stage: string,
 *   turn: number,
 *   busy: boolean,
 *   words: string,
 *   forms: [string, string][],
 *   form: string|null,
 *   inscription: string,
 *   inscriptions: [string, string][],
 *   chosen: string,
 *   one: Record<string, any>|null,
 *   signs: number,
 *   own: Record<string, any>,
 *   known: Record<string, any>,
 *   values: [string, number][],
 *   statuses: [string, string][],
 *   chinese: Record<string, any>|null,
 *   readings: Record<string, any>[],
 *   parse: Record<string, any>|null,
 *   dots: string,
 *   shape: Record<string, any>,
 *   beside: Record<string, any>|null,
 *   spread: string[],
 *   attempts: Record<string, any>[],
 * }} ReadingPanelState */
/** @typedef {{
 *   name: string,
 *   label: string,
 *   number: boolean,
 *   long: boolean,
 *   choices: string[][],
 *   value: string,
 * }} PieceField */
/** @typedef {{
 *   fields: PieceField[],
 *   sensitive: [string, boolean, string][],
 *   evidence: [string, string][],
 *   source_kinds: [string, string][],
 *   photos: Record<string, string>[],
 *   kinds: [string, string][],
 *   inscriptions: Record<string, string>[],
 *   sources: Record<string, string>[],
 *   notes: any[],
 * }} PiecePanelState */
/** @typedef {{id: string, maker: string, year: string, thumb: string, traced: boolean}} AlbumForm */
/** @typedef {{svg: string, title: string}} Figure */
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
