// States of panels, for the type check only: `python -m tests.javascript.message_types` writes them
// from `readaid/widgets/board_states.py`; a test compares. Nothing here is loaded.

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

export {};
