// What the hand is told when it takes up a tool of the photograph.
import { t } from "./texts.js";

const KEYBOARD = () => t`With the keyboard: arrows move the cross, Enter marks.`;
/** What is said when a tool is taken up, by tool. */
export const hints = () =>
  /** @type {Record<string, string>} */ ({
    draw: t`Drag round one sign. Each zone gets its number by itself.`,
    lasso: t`Draw a line round the signs you mean; Shift and a click adds one or lets it go.`,
    scale: `${t`Click one end of a length you know, then the other end.`} ${KEYBOARD()}`,
    square: `${t`Click four corners of something rectangular, clockwise from its top left.`} ${KEYBOARD()}`,
    sphere: `${t`Click the left and the right edge of a shiny ball in the picture.`} ${KEYBOARD()}`,
    note: `${t`Click the place that the note is about.`} ${KEYBOARD()}`,
    bend: t`Click along the middle of the column, from above its first sign to below its last; double click, right click or Enter ends, Backspace takes a point back, Escape leaves. With the keyboard: arrows move the cross, the space bar marks.`,
  });
