// States of panels, for the type check only: `python -m tests.javascript.message_types` writes them
// from `readaid/widgets/register_states.py`; a test compares. Nothing here is loaded.

/** @typedef {import("./board_states.js").Busy} Busy */
/** @typedef {{steps: string[], keys: [string, string][], caution: string}} StageWords */
/** @typedef {{
 *   title: string,
 *   folder: string,
 *   reader: string,
 *   stages: [string, string][],
 *   stage: string,
 *   languages: [string, string][],
 *   language: string,
 *   undo: string,
 *   redo: string,
 *   locked: boolean,
 *   saved: string,
 *   notices: string[],
 *   help: StageWords,
 * }} HeadPanelState */
/** @typedef {{
 *   name: string,
 *   label: string,
 *   number: boolean,
 *   long: boolean,
 *   choices: [string, string][],
 *   value: string,
 * }} PieceField */
/** @typedef {{
 *   id: string,
 *   file: string,
 *   title: string,
 *   surface: string,
 *   light: string,
 *   evidence: string,
 *   rights: string,
 *   words: string,
 * }} DescribedPhoto */
/** @typedef {{
 *   id: string,
 *   words: string,
 *   kind: string,
 *   title: string,
 *   surface: string,
 *   place: string,
 *   technique: string,
 *   order_note: string,
 *   note: string,
 * }} DescribedInscription */
/** @typedef {{kind: string, citation: string, weight: string}} SourceRow */
/** @typedef {{text: string}} NoteRow */
/** @typedef {{
 *   fields: PieceField[],
 *   sensitive: [string, boolean, string][],
 *   evidence: [string, string][],
 *   source_kinds: [string, string][],
 *   photos: DescribedPhoto[],
 *   kinds: [string, string][],
 *   inscriptions: DescribedInscription[],
 *   sources: SourceRow[],
 *   notes: NoteRow[],
 * }} PiecePanelState */
/** @typedef {{name: string, title: string}} TableColumn */
/** @typedef {{id: string, cells: string[]}} TableRow */
/** @typedef {{when: string, reader: string, reason: string, what: string}} HistoryRow */
/** @typedef {{status: string, confidence: number}} Standing */
/** @typedef {{
 *   id: string,
 *   title: string,
 *   facts: [string, string][],
 *   history: HistoryRow[],
 *   attempt?: Standing,
 * }} RecordDetail */
/** @typedef {{
 *   columns: TableColumn[],
 *   rows: TableRow[],
 *   total: number,
 *   start: number,
 *   kind: string,
 *   kinds: [string, string][],
 *   query: string,
 *   status: string,
 *   moment: string,
 *   statuses: [string, string][],
 *   sort: [string, number],
 *   selected: string,
 *   nothing: string,
 *   words: [string, number][],
 *   values: [string, number][],
 *   locked: boolean,
 *   detail: RecordDetail|null,
 * }} RegisterPanelState */
/** @typedef {{
 *   id: string,
 *   when: string,
 *   who: string,
 *   words: string,
 *   character: string,
 *   stands: boolean,
 *   back: boolean,
 * }} LogRow */
/** @typedef {{open: boolean, locked: boolean, lines: LogRow[]}} LogPanelState */
/** @typedef {{id: string, words: string, cause: string, advice: string, note: string}} RegionRow */
/** @typedef {{name: string, label: string, long: boolean, value: string, offer: string}} EntryField */
/** @typedef {{id: string, words: string, fields: EntryField[]}} EntryRow */
/** @typedef {{
 *   formats: [string, string][],
 *   busy: Busy|null,
 *   regions: RegionRow[],
 *   causes: [string, string][],
 *   advices: [string, string][],
 *   layers: string[],
 *   layer_kinds: [string, string][],
 *   entries: EntryRow[],
 *   format: string,
 *   edition: string,
 *   language: string,
 *   part: string,
 *   private: boolean,
 *   blind: boolean,
 * }} ReportPanelState */
/** @typedef {{words: string, conflicts: [string, string, string, string, string][], notices: string[]}} MergedCopy */
/** @typedef {{
 *   ready: boolean,
 *   busy: Busy|null,
 *   where: string,
 *   locked: boolean,
 *   merged: MergedCopy|null,
 *   agreement: string[],
 *   calibration: [string, string, string, string][]|null,
 *   checked: string[]|null,
 * }} SharingPanelState */

export {};
